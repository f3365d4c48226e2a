/**
 * Where does the ES5 file run? Two small engines, Duktape as a program and QuickJS in this process. Test support.
 */
import { spawnSync } from "node:child_process";
import { getQuickJS } from "quickjs-emscripten";

export interface Engine {
  readonly name: string;
  /** Why it cannot be used here; undefined where it can. */
  readonly missing?: string;
  /** Runs scripts one after the other in a fresh realm; gives the value of the last, which must be a string. */
  readonly run: (scripts: readonly string[]) => string;
}

const QUICKJS = await getQuickJS();

export const ENGINES: readonly Engine[] = [
  {
    name: "Duktape",
    ...(spawnSync("duk", ["-e", "0"]).error
      ? { missing: "duk is not installed: apt-get install duktape" }
      : {}),
    run: inDuktape,
  },
  { name: "QuickJS", run: inQuickJs },
];

function inDuktape(scripts: readonly string[]): string {
  const last = scripts.length - 1;
  const input = scripts
    .map((script, i) => (i < last ? script : `print(eval(${JSON.stringify(script)}));`))
    .join("\n");
  const { status, stdout, stderr } = spawnSync("duk", ["--run-stdin"], {
    input,
    encoding: "utf8",
    maxBuffer: 1 << 28,
    timeout: 60_000,
  });
  if (status !== 0) throw new Error(`Duktape ended with ${String(status)}: ${stderr}`);
  return stdout.replace(/\n$/, "");
}

function inQuickJs(scripts: readonly string[]): string {
  const context = QUICKJS.newContext();
  try {
    let value = "";
    for (const script of scripts) {
      const handle = context.unwrapResult(context.evalCode(script, "script.js", { type: "global" }));
      value = context.getString(handle);
      handle.dispose();
    }
    return value;
  } finally {
    context.dispose();
  }
}

/** What ECMA-262, edition 5.1 (2011), section 15 gives to a program: of each object, its own and its prototype's names. */
const ES5: { readonly [name: string]: readonly [own: string, prototype: string] } = {
  Object: [
    "getPrototypeOf getOwnPropertyDescriptor getOwnPropertyNames create defineProperty defineProperties seal freeze " +
      "preventExtensions isSealed isFrozen isExtensible keys",
    "toString toLocaleString valueOf hasOwnProperty isPrototypeOf propertyIsEnumerable",
  ],
  Function: ["", "toString apply call bind"],
  Array: [
    "isArray",
    "toString toLocaleString concat join pop push reverse shift slice sort splice unshift indexOf lastIndexOf every " +
      "some forEach map filter reduce reduceRight",
  ],
  String: [
    "fromCharCode",
    "toString valueOf charAt charCodeAt concat indexOf lastIndexOf localeCompare match replace search slice split " +
      "substring toLowerCase toLocaleLowerCase toUpperCase toLocaleUpperCase trim",
  ],
  Boolean: ["", "toString valueOf"],
  Number: [
    "MAX_VALUE MIN_VALUE NaN NEGATIVE_INFINITY POSITIVE_INFINITY",
    "toString toLocaleString valueOf toFixed toExponential toPrecision",
  ],
  Math: [
    "E LN10 LN2 LOG2E LOG10E PI SQRT1_2 SQRT2 abs acos asin atan atan2 ceil cos exp floor log max min pow random " +
      "round sin sqrt tan",
    "",
  ],
  RegExp: ["", "exec test toString source global ignoreCase multiline lastIndex"],
  JSON: ["parse stringify", ""],
};

/** A script that takes away what an engine has beyond ES5, but what the test itself prints with. */
export const ONLY_ES5 = `(function () {
  var listed = ${JSON.stringify(ES5)};
  var kept = " NaN Infinity undefined eval parseInt parseFloat isNaN isFinite decodeURI decodeURIComponent encodeURI " +
    "encodeURIComponent Date Error EvalError RangeError ReferenceError SyntaxError TypeError URIError print ";
  var everything = this;
  function strip(object, names) {
    var own = Object.getOwnPropertyNames(object);
    for (var i = 0; i < own.length; i++) if ((" length name prototype constructor " + names + " ").indexOf(" " + own[i] + " ") < 0) delete object[own[i]];
    // A symbol's iterator is what loops over arrays call, where they were not lowered.
    if (typeof Symbol === "function") delete object[Symbol.iterator];
  }
  for (var name in listed) {
    strip(everything[name], listed[name][0]);
    if (everything[name].prototype) strip(everything[name].prototype, listed[name][1]);
    kept += name + " ";
  }
  var globals = Object.getOwnPropertyNames(everything);
  for (var i = 0; i < globals.length; i++) if (kept.indexOf(" " + globals[i] + " ") < 0) delete everything[globals[i]];
}).call(this);`;
