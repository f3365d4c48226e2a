/**
 * Is the session by hand in LINK.md, section 10, what a meter and pump answers that was written from that page alone? And
 * does it keep to the page's rules where a line is damaged, late or repeated?
 */
import { readFileSync } from "node:fs";
import { expect, test } from "vitest";
import { crc, PlantEnd, type PlantEndOptions } from "./plant-end.mjs";

const PAGE = readFileSync(new URL("../../harness/link/LINK.md", import.meta.url), "utf8");

interface Plant {
  readonly end: PlantEnd;
  readonly said: string[];
  readonly made: number[];
  /** What it says to lines that are sent with their checks. */
  readonly ask: (...texts: readonly string[]) => string[];
  micros: number;
}

function plant(options: Partial<PlantEndOptions> = {}): Plant {
  const said: string[] = [];
  const made: number[] = [];
  const end = new PlantEnd({
    name: "well house",
    has: ["meter", "pump"],
    register: 0,
    last: 0,
    send: (text) => said.push(text.trimEnd()),
    now: () => built.micros,
    made: (number) => made.push(number),
    kept: () => undefined,
    isBusy: () => false,
    hangUp: () => undefined,
    ...options,
  });
  const built: Plant = {
    end,
    said,
    made,
    micros: 0,
    ask(...texts) {
      said.length = 0;
      for (const text of texts) end.take(`${text}*${crc(text)}\n`);
      return said.map((line) => line.slice(0, -5));
    },
  };
  return built;
}

test("the session by hand in LINK.md, section 10, is true to the byte", () => {
  const session = /```\n(< boot well house[^`]*)```/.exec(PAGE)?.[1]?.trim().split("\n") ?? [];
  const device = plant({ register: 41 });
  device.end.boot();
  const played = ["< " + (device.said[0] ?? "")];
  for (const line of session.filter((each) => each.startsWith("> "))) {
    device.said.length = 0;
    device.end.take(`${line.slice(2)}\n`);
    played.push(line, ...device.said.map((text) => `< ${text}`));
    if (line !== "> register") continue;
    device.said.length = 0;
    device.micros = 2_500_000;
    device.end.contact();
    played.push(...device.said.map((text) => `< ${text}`));
  }
  expect(session.length).toBe(21);
  expect(played).toEqual(session);
});

test("a stroke is made once, whether its request or its number is repeated, and across greetings", () => {
  const device = plant();
  expect(device.ask("0 hello 9", "1 stroke 1").slice(5)).toEqual(["ok 0 5 9", "ok 1 5 1"]);
  expect(device.ask("1 stroke 1", "2 stroke 1")).toEqual(["ok 1 5 1", "ok 2 5 1"]);
  expect(device.ask("0 hello 10", "1 stroke 1", "2 last").slice(6)).toEqual(["ok 1 5 1", "ok 2 5 1"]);
  expect(device.ask("3 stroke 3", "4 stroke 0", "5 stroke 4294967296", "6 stroke", "7 stroke 2")).toEqual([
    "no 3 stroke 1",
    "no 4 stroke 1",
    "no 5 value",
    "no 6 word",
    "ok 7 5 2",
  ]);
  // An older request than the last comes late, and is passed over.
  expect(device.ask("2 stroke 3", "7 stroke 2")).toEqual(["ok 7 5 2"]);
  expect(device.made).toEqual([1, 2]);
});

test("register and last stroke wrap to 0 after 4294967295", () => {
  const device = plant({ register: 4_294_967_295, last: 4_294_967_295 });
  device.ask("0 hello 9", "1 register");
  device.said.length = 0;
  device.end.contact();
  expect(device.said.map((line) => line.slice(0, -5))).toEqual(["6 register 0 0"]);
  expect(device.ask("2 stroke 0", "3 last")).toEqual(["ok 2 6 0", "ok 3 6 0"]);
});

test("a register is told from the asking on, until a greeting, `bye`, a restart or 3 s without a line", () => {
  const device = plant();
  const tells = (): number => {
    device.said.length = 0;
    device.end.contact();
    return device.said.length;
  };
  device.ask("0 hello 9");
  expect(tells()).toBe(0);
  device.ask("1 register");
  expect(tells()).toBe(1);
  device.micros = 3_000_000;
  expect(tells()).toBe(1);
  device.micros = 3_000_001;
  expect(tells()).toBe(0);
  device.ask("2 register");
  expect(tells()).toBe(1);
  device.ask("3 bye");
  expect(tells()).toBe(0);
  device.ask("4 register");
  device.end.boot();
  expect(tells()).toBe(0);
  expect(device.ask("0 hello 10", "1 register").at(-1)).toBe("ok 1 5 7");
});

test("what a meter or a pump alone is not, it refuses as a word that it does not know", () => {
  expect(
    plant({ has: ["meter"] })
      .ask("0 hello 9", "1 last", "2 stroke 1", "3 register")
      .slice(5),
  ).toEqual(["ok 0 5 9", "no 1 word", "no 2 word", "ok 3 5 0"]);
  expect(
    plant({ has: ["pump"] })
      .ask("0 hello 9", "1 register", "2 go 5", "3 last")
      .slice(5),
  ).toEqual(["ok 0 5 9", "no 1 word", "no 2 word", "ok 3 5 0"]);
});

test("a pump that is still under way refuses and makes the stroke when it is asked for again", () => {
  let isBusy = true;
  const device = plant({ isBusy: () => isBusy });
  expect(device.ask("0 hello 9", "1 stroke 1").at(-1)).toBe("no 1 state");
  isBusy = false;
  expect(device.ask("2 stroke 1")).toEqual(["ok 2 5 1"]);
  expect(device.made).toEqual([1]);
});

test("a line that cannot be used is named and uses up no number", () => {
  const device = plant();
  device.ask("0 hello 9");
  device.said.length = 0;
  for (const line of ["1 stroke 1*0000", "stroke 1", "x".repeat(70), "1 \x01"]) device.end.take(`${line}\n`);
  expect(device.said.map((line) => line.slice(0, -5))).toEqual([
    "no - check",
    "no - check",
    "no - long",
    "no - byte",
  ]);
  expect(device.ask("7 stroke 1", "1 stroke 1")).toEqual(["no - order 1", "ok 1 5 1"]);
});
