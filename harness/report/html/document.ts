/**
 * What does every page of ours stand in? One HTML document with all that it needs inside. Harness layer.
 *
 * It asks for nothing from anywhere, and says so to the browser. Without its script it is complete.
 */
import { escaped, jsonScript } from "./html.js";
import { packed, type PageData } from "./page-data.js";
import { section } from "./sections.js";
import { STYLE } from "./style.js";

/** One part: its name for links, its heading, and what is in it. */
export type Part = readonly [id: string, title: string, body: string];

export interface PageOf {
  readonly title: string;
  readonly header: string;
  readonly parts: readonly Part[];
  /** What its script draws, if there is something. */
  readonly data: PageData | undefined;
  readonly script: string;
}

const POLICY = "default-src 'none'; style-src 'unsafe-inline'; script-src 'unsafe-inline'; img-src data:";

export function documentOf({ title, header, parts, data, script }: PageOf): string {
  const links = parts.map(([id, name]) => `<li><a href="#${id}">${escaped(name)}</a></li>`).join("");
  const live =
    data === undefined
      ? []
      : [jsonScript("drawn", packed(data)), `<script>${script.replace(/<\/(?=script)/gi, "<\\/")}</script>`];
  return [
    "<!doctype html>",
    '<html lang="en">',
    '<head><meta charset="utf-8"><meta name="viewport" content="width=device-width, initial-scale=1">',
    `<meta http-equiv="Content-Security-Policy" content="${POLICY}">`,
    `<title>${escaped(title)}</title>`,
    `<style>${STYLE}</style></head>`,
    `<body class="no-live"><a class="skip" href="#${parts[0]?.[0] ?? ""}">To the first part</a>`,
    '<main class="sheet">',
    header,
    `<nav class="contents" aria-label="Contents"><ul>${links}</ul></nav>`,
    ...parts.map((part) => section(...part)),
    "</main>",
    ...live,
    "</body></html>",
  ].join("\n");
}
