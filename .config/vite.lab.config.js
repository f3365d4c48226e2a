// The lab as one HTML file that opens from disk: browsers load no module from a file, so script and style stand within it.
import { fileURLToPath } from "node:url";
import { defineConfig } from "vite";

const POLICY =
  "default-src 'none'; script-src 'unsafe-inline'; style-src 'unsafe-inline'; worker-src blob:; img-src data:";

const withinThePage = {
  name: "within-the-page",
  enforce: "post",
  generateBundle(_, bundle) {
    const page = bundle["index.html"];
    const script = Object.values(bundle).find(({ type }) => type === "chunk");
    const style = Object.values(bundle).find(({ fileName }) => fileName.endsWith(".css"));
    const html = page.source
      .replace(/<script type="module"[^>]*><\/script>\s*/, "")
      .replace(/<link rel="stylesheet"[^>]*>\s*/, () => `<style>${style.source}</style>`)
      .replace("</title>", () => `</title><meta http-equiv="Content-Security-Policy" content="${POLICY}" />`)
      .replace(
        "</body>",
        () => `<script>${script.code.replaceAll("</script", "<\\/script")}</script></body>`,
      );
    for (const name of Object.keys(bundle)) if (name !== "index.html") delete bundle[name];
    page.source = html;
  },
};

export default defineConfig({
  root: fileURLToPath(new URL("../harness/lab/page/", import.meta.url)),
  base: "./",
  build: {
    outDir: fileURLToPath(new URL("../dist/lab/", import.meta.url)),
    emptyOutDir: true,
    target: "es2023",
    modulePreload: false,
    assetsInlineLimit: Number.MAX_SAFE_INTEGER,
    chunkSizeWarningLimit: 2_000,
    rolldownOptions: { output: { format: "iife" } },
  },
  worker: { format: "iife" },
  plugins: [withinThePage],
});
