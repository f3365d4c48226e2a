/**
 * How does a report look, on a screen and on paper? Harness layer.
 */
import { DARK, LIGHT, variables } from "./theme.js";

const BASE = `
*{box-sizing:border-box}
html{color-scheme:light dark;-webkit-text-size-adjust:100%}
body{margin:0;background:var(--paper);color:var(--ink);font:16px/1.55 system-ui,"Segoe UI","Noto Sans",Helvetica,Arial,sans-serif;font-variant-numeric:tabular-nums}
.sheet{max-width:60rem;margin:0 auto;padding:1.5rem 1.25rem 4rem}
h1,h2,h3{font-family:Charter,"Bitstream Charter","Iowan Old Style",Georgia,"Noto Serif","DejaVu Serif",serif;line-height:1.2;font-weight:600;text-wrap:balance}
h1{font-size:clamp(1.6rem,4.6vw,2.5rem);margin:0}
h2{font-size:1.45rem;margin:0 0 .75rem}
h3{font-size:1.08rem;margin:1.75rem 0 .5rem}
p{margin:.5rem 0;max-width:44rem}
a{color:var(--link)}
section{margin-top:3rem;padding-top:1.5rem;border-top:1px solid var(--line)}
.kicker{font-size:.85rem;color:var(--muted);margin:0 0 1rem;overflow-wrap:anywhere}
.kicker b{color:var(--ink)}
.muted{color:var(--muted)}
.skip{position:absolute;left:-99rem}.skip:focus{position:static}
:focus-visible{outline:3px solid var(--link);outline-offset:2px}
`;

const VERDICT = `
.verdict{display:grid;grid-template-columns:auto 1fr;gap:0 1rem;align-items:start;border-left:6px solid var(--tone);padding:.25rem 0 .25rem 1.1rem}
.verdict .sign{font-size:2rem;line-height:1.15;font-weight:700;color:var(--tone)}
.verdict ul{grid-column:2;margin:.75rem 0 0;padding:0;list-style:none}
.verdict li{margin:.3rem 0;max-width:44rem}
.holds{--tone:var(--good)}.broken{--tone:var(--bad)}.cannot{--tone:var(--doubt)}
.figures{display:grid;grid-template-columns:repeat(auto-fit,minmax(7.5rem,1fr));margin:2rem 0 0;border:solid var(--line);border-width:1px 0}
.figures div{padding:.7rem .8rem .7rem 0}
.figures dt{font-size:.8rem;color:var(--muted)}
.figures dd{margin:0;font-size:1.35rem;line-height:1.25}
.figures dd small{display:block;font-size:.78rem;color:var(--muted)}
.mind{margin:1.5rem 0 0;font-size:.92rem;color:var(--muted);max-width:none}
.contents{margin-top:1.5rem;font-size:.92rem}
.contents ul{display:flex;flex-wrap:wrap;gap:.2rem 1.2rem;list-style:none;margin:0;padding:0}
.contents a{display:inline-block;padding:.2rem 0}
`;

const DRAWINGS = `
figure{margin:1rem 0}
figcaption{font-size:.9rem;color:var(--muted);margin-top:.5rem;max-width:44rem}
.scroll{overflow-x:auto;max-width:100%}
.scroll svg{display:block;min-width:44rem;width:100%;height:auto}
table{border-collapse:collapse;font-size:.9rem;width:100%}
caption{text-align:left;color:var(--muted);padding:.2rem 0 .5rem}
th,td{text-align:left;padding:.35rem .9rem .35rem 0;border-bottom:1px solid var(--line);vertical-align:top}
thead th{font-weight:600;color:var(--muted);border-bottom-color:var(--muted)}
tbody th{font-weight:500;white-space:nowrap}
details{margin:1rem 0}
summary{cursor:pointer;color:var(--link);padding:.35rem 0}
.laws{list-style:none;margin:0;padding:0}
.laws li{display:grid;grid-template-columns:minmax(0,1fr) 200px;gap:.1rem 1.5rem;padding:.8rem 0;border-bottom:1px solid var(--line);break-inside:avoid}
.laws h3{margin:0;font-size:1rem;font-family:inherit}
.laws h3 .no{color:var(--muted);font-weight:400;display:inline-block;min-width:1.7em}
.laws p{margin:.1rem 0 0 1.7em;font-size:.92rem;color:var(--muted)}
.laws .bar svg{display:block;width:100%;max-width:200px;height:auto}
.laws .bar p{margin:.15rem 0 0;color:var(--ink);font-size:.85rem}
.laws .answer{font-weight:700;color:var(--tone);white-space:nowrap}
.laws .evidence{color:var(--ink)}
.short{font-weight:600}
tbody th{padding-right:1.5rem}
.moments{list-style:none;margin:.5rem 0 0;padding:0;counter-reset:m}
.moments li{display:grid;grid-template-columns:1.6rem minmax(0,1fr) auto;gap:.6rem;align-items:baseline;padding:.4rem 0;border-bottom:1px solid var(--line)}
.moments .no{font-size:.78rem;font-weight:700;color:var(--bad);border:1px solid var(--bad);border-radius:50%;width:1.5rem;height:1.5rem;line-height:1.4rem;text-align:center;align-self:start}
.numbers{overflow:auto;max-height:24rem;font-size:.8rem;background:var(--raised);padding:1rem;margin:0}
`;

const LIVE = `
.live{--gap:.4rem}
.live[hidden]{display:none}
.tools{display:flex;flex-wrap:wrap;gap:var(--gap);align-items:center;margin:.75rem 0}
button{font:inherit;font-size:.9rem;color:var(--link);background:transparent;border:1px solid var(--line);border-radius:.3rem;padding:.35rem .7rem;min-height:2.25rem;cursor:pointer}
button:hover{border-color:currentColor}
.tools label{display:flex;flex:1 1 14rem;gap:.6rem;align-items:center;font-size:.9rem;color:var(--muted)}
.tools input{flex:1;min-width:6rem;min-height:2.25rem;accent-color:var(--link)}
.rows{border-radius:.3rem;padding:.2rem 0;touch-action:pan-y}
.rows .uplot{font-family:inherit}
.rows .u-select{background:color-mix(in srgb,var(--link) 18%,transparent);border:solid var(--link);border-width:0 1px}
.rows .u-cursor-x{border-right:1px dashed var(--muted)}
.row-name{font-size:.82rem;font-weight:600;margin:.5rem 0 0}
.readout{font-size:.9rem;min-height:1.6em;margin:.25rem 0 0;max-width:none}
.now{font-size:.9rem;background:var(--raised);padding:.6rem .8rem;border-radius:.3rem;max-width:none;margin:.25rem 0 .5rem}
.jump{white-space:nowrap}
body.no-live .jump{display:none}
`;

const NARROW = `
@media (max-width:36rem){
.sheet{padding:1rem 1rem 3rem}
section{margin-top:2.25rem}
.verdict{padding-left:.8rem;gap:0 .7rem}.verdict ul{grid-column:1/-1}
.laws li{grid-template-columns:1fr}.laws .bar{margin-left:1.7em}
.moments li{grid-template-columns:1.6rem minmax(0,1fr)}.moments .jump{grid-column:2;justify-self:start}
}
`;

const PRINT = `
@page{size:A4;margin:14mm}
@media print{
:root{${variables(LIGHT)};color-scheme:light}
body{font-size:9.5pt;line-height:1.4;background:#fff}
.sheet{max-width:none;padding:0}
.live,.contents,.skip,.jump,#numbers,details:not([open]){display:none!important}
.figures{grid-template-columns:repeat(7,1fr);margin-top:1rem}.figures dd{font-size:1.1rem}.laws li{padding:.4rem 0}
body.is-live .paper{display:block!important}
section{margin-top:1.2rem;padding-top:.7rem}
h1,h2,h3,summary,figcaption,caption,section>p:first-of-type{break-after:avoid}
figure,.verdict,.figures,tr,p,.moments li{break-inside:avoid}
.paper svg{max-height:116mm}
#alarms,#mind{break-inside:avoid}
.scroll{overflow:visible;break-inside:avoid}.scroll svg{min-width:0}
table{font-size:8.5pt}th,td{padding:.18rem .7rem .18rem 0}
.numbers{max-height:none}
*{-webkit-print-color-adjust:exact;print-color-adjust:exact}
}
`;

export const STYLE = [
  `:root{${variables(LIGHT)}}`,
  `@media screen and (prefers-color-scheme:dark){:root{${variables(DARK)}}}`,
  BASE,
  VERDICT,
  DRAWINGS,
  LIVE,
  "body.is-live .paper{display:none}",
  NARROW,
  PRINT,
].join("\n");
