/**
 * How is a commissioning sheet put on paper? Markdown, or HTML that prints. Harness layer.
 */
import type { Sheet, SheetPart } from "./sheet.js";

/** The formats, by the end of the file's name. */
export const SHEET_FORMATS: { readonly [extension: string]: (sheet: Sheet) => string } = {
  ".md": sheetMarkdown,
  ".markdown": sheetMarkdown,
  ".html": sheetHtml,
  ".htm": sheetHtml,
};

export function sheetMarkdown({ title, parts }: Sheet): string {
  return `# ${markdown(title)}\n\n${parts.map(partMarkdown).join("\n\n")}\n`;
}

function partMarkdown({ title, facts = [], notes = [], checks = [], blanks = [] }: SheetPart): string {
  const blocks = [
    notes.map((note) => `- ${markdown(note)}`),
    facts.length === 0
      ? []
      : ["| | |", "|---|---|", ...facts.map(([name, value]) => `| ${markdown(name)} | ${markdown(value)} |`)],
    checks.map((check) => `- [ ] ${markdown(check)}`),
    blanks.map((blank) => `- ${markdown(blank)}: ______________________`),
  ];
  const text = blocks.filter((block) => block.length > 0).map((block) => block.join("\n"));
  return [`## ${markdown(title)}`, ...text].join("\n\n");
}

function markdown(text: string): string {
  return text.replace(/[\\`*_|<>[\]]/g, "\\$&");
}

// A section that fits on a page is not broken over two.
const STYLE =
  "body{font:11pt/1.4 system-ui,sans-serif;max-width:48rem;margin:2rem auto;padding:0 1rem;color:#111;background:#fff}" +
  "h1{font-size:1.4rem;margin:0}h2{font-size:1.1rem;margin:1.2rem 0 .4rem;border-bottom:1px solid #999;break-after:avoid}" +
  "section,li{break-inside:avoid}ul{padding-left:1.2rem;margin:.4rem 0}" +
  "table{border-collapse:collapse;width:100%}th,td{border:1px solid #999;padding:.2rem .5rem;text-align:left;vertical-align:top}" +
  "th{width:36%;font-weight:normal}ul.checks,ul.blanks{list-style:none;padding:0}" +
  "ul.checks li{padding-left:1.8em;margin:.3rem 0}" +
  ".box{display:inline-block;width:1em;height:1em;border:1.5px solid #111;margin:0 .7em 0 -1.8em;vertical-align:-.15em}" +
  "ul.blanks{display:grid;grid-template-columns:repeat(auto-fit,minmax(20em,1fr));column-gap:1.5rem}" +
  "ul.blanks li{display:flex;gap:.5rem;margin:.6rem 0}.line{flex:1;border-bottom:1px solid #111}" +
  "@page{margin:15mm}@media print{body{font-size:9pt;margin:0;padding:0;max-width:none}}";

export function sheetHtml({ title, parts }: Sheet): string {
  return [
    "<!doctype html>",
    '<html lang="en">',
    `<head><meta charset="utf-8"><meta name="viewport" content="width=device-width, initial-scale=1">`,
    `<title>${html(title)}</title><style>${STYLE}</style></head>`,
    "<body>",
    `<h1>${html(title)}</h1>`,
    ...parts.map(partHtml),
    "</body>",
    "</html>",
    "",
  ].join("\n");
}

function partHtml({ title, facts = [], notes = [], checks = [], blanks = [] }: SheetPart): string {
  const list = (name: string, items: readonly string[]): string =>
    items.length === 0 ? "" : `<ul class="${name}">${items.map((item) => `<li>${item}</li>`).join("")}</ul>`;
  const rows = facts.map(
    ([name, value]) => `<tr><th scope="row">${html(name)}</th><td>${html(value)}</td></tr>`,
  );
  return [
    `<section><h2>${html(title)}</h2>`,
    list("notes", notes.map(html)),
    rows.length === 0 ? "" : `<table>${rows.join("")}</table>`,
    list(
      "checks",
      checks.map((check) => `<span class="box" role="img" aria-label="to tick"></span>${html(check)}`),
    ),
    list(
      "blanks",
      blanks.map((blank) => `<span>${html(blank)}</span><span class="line"></span>`),
    ),
    "</section>",
  ]
    .filter((part) => part !== "")
    .join("\n");
}

function html(text: string): string {
  const entities: { readonly [sign: string]: string } = {
    "&": "&amp;",
    "<": "&lt;",
    ">": "&gt;",
    '"': "&quot;",
  };
  return text.replace(/[&<>"]/g, (sign) => entities[sign] ?? sign);
}
