// What can the stand-in controller be given, and what does it refuse? Test code, plain JavaScript: the names, ranges and
// cross-conditions of LINK.md, section 5. Times in microseconds.

const DAY = 86_400_000_000;

/** A number as the link writes it. */
export const NUMBER = /^(0|[1-9][0-9]{0,15})$/;

export const within = (word, [least, most]) =>
  NUMBER.test(word) && Number(word) >= least && Number(word) <= most;

/** Each setting: the values it may have, then what it is until the bench says otherwise. */
export const SETTINGS = {
  strokes: [[1, 65535], 1],
  contacts: [[1, 65535], 1],
  cadence: [["spread", "prompt"], "prompt"],
  leastSpacingMicros: [[1, DAY / 24], 500_000],
  owedLimitStrokes: [[1, 1_000_000], 20],
  graceMicros: [[1, DAY], 90_000_000],
  longestPrimeMicros: [[1, DAY / 24], 60_000_000],
  primeSpacingMicros: [[1, DAY / 24], 500_000],
  contactsDuringPrime: [["earn", "ignore"], "earn"],
  guardBudgetStrokes: [[0, 65535], 0],
  guardPeriodMicros: [[1, DAY], DAY / 24],
  guardBurstStrokes: [[1, 65535], 1],
  closedMicros: [[0, 10_000_000], 10_000],
  openMicros: [[0, 10_000_000], 10_000],
  leastContactMicros: [[0, DAY / 24], 0],
  stuckMicros: [[0, 7 * DAY], DAY],
  silentMicros: [[0, 7 * DAY], DAY],
  largestIncrease: [[1, 1000], 2],
};
export function defaults() {
  return Object.fromEntries(Object.entries(SETTINGS).map(([name, [, value]]) => [name, value]));
}

/** Puts `value` among the staged settings, or says why not. */
export function stage(staged, name, value) {
  if (!Object.hasOwn(SETTINGS, name)) return { refusal: "word" };
  const [allowed] = SETTINGS[name];
  const isWord = typeof allowed[0] === "string";
  if (isWord ? !allowed.includes(value) : !within(value, allowed)) return { refusal: "value" };
  staged[name] = isWord ? value : Number(value);
  return {};
}

/** The first setting that cannot be, or undefined: the cross-conditions of LINK.md, section 5. */
export function impossible(s) {
  const most = Math.ceil(s.strokes / s.contacts);
  if (s.owedLimitStrokes < most) return "owedLimitStrokes";
  if (s.graceMicros < most * s.leastSpacingMicros) return "graceMicros";
  if (s.primeSpacingMicros < s.leastSpacingMicros) return "primeSpacingMicros";
  if (s.guardBudgetStrokes > 0 && s.guardBurstStrokes < most) return "guardBurstStrokes";
  if (s.stuckMicros > 0 && s.stuckMicros <= s.closedMicros) return "stuckMicros";
  return undefined;
}
