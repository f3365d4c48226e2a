/**
 * What if a real program on a real kernel port stands in the plant: is it read and worked, and what if it is killed,
 * stopped, restarted or unplugged, or the feed comes back after it was away?
 */
import { spawn } from "node:child_process";
import {
  closeSync,
  constants,
  existsSync,
  mkdtempSync,
  openSync,
  readFileSync,
  rmSync,
  writeFileSync,
  writeSync,
} from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { setTimeout } from "node:timers/promises";
import { expect, onTestFinished, test } from "vitest";
import type { FieldFault, Meter, Pump } from "../../harness/field/field.js";
import { openField, openMeter, openPump } from "../../harness/field/open.js";
import { openPtyPlant, PLANT } from "../bench-devices/pty.js";
import { expectNoUnseenRejection } from "../support/rejections.js";

/** What a busy machine may take for anything below. */
const WAIT_MILLIS = 20_000;

expectNoUnseenRejection();

interface Ends {
  readonly meter: Meter;
  readonly pump: Pump;
  /** Registers as they were told. */
  readonly heard: number[];
  /** What the meter and the pump were lost by. */
  readonly lost: FieldFault[];
  /** Waits until so many registers were told, or so many losses. */
  readonly until: (isSo: () => boolean) => Promise<void>;
}

async function start(spec: string): Promise<Ends> {
  const { meter, pump } = await openField({ meter: spec, pump: spec });
  onTestFinished(async () => {
    await meter.close();
    await pump.close();
  });
  const heard: number[] = [];
  const lost: FieldFault[] = [];
  const waiters: (() => void)[] = [];
  const changed = (): void => {
    for (const wake of waiters) wake();
  };
  const ear = (fault: FieldFault): void => {
    lost.push(fault);
    changed();
  };
  await meter.start({
    hear: (event) => {
      if (event.kind === "register") heard.push(event.contacts);
      changed();
    },
    lost: ear,
  });
  await pump.start({ lost: ear });
  const until = (isSo: () => boolean): Promise<void> =>
    new Promise((resolve, reject) => {
      const timer = globalThis.setTimeout(() => {
        reject(new Error(`waited in vain; heard ${heard.join(" ")}; lost ${JSON.stringify(lost)}`));
      }, WAIT_MILLIS);
      const look = (): void => {
        if (!isSo()) return;
        clearTimeout(timer);
        resolve();
      };
      waiters.push(look);
      look();
    });
  return { meter, pump, heard, lost, until };
}

function folder(): string {
  const path = mkdtempSync(join(tmpdir(), "tallystroke-"));
  onTestFinished(() => {
    rmSync(path, { recursive: true });
  });
  return path;
}

const rows = (file: string): number[] =>
  readFileSync(file, "utf8")
    .trim()
    .split("\n")
    .slice(1)
    .map((row) => Number(row.split(",")[0]));

test("a meter and a pump on one port are read and worked, and go on counting and numbering while no feed is there", async () => {
  const strokes = join(folder(), "strokes.csv");
  const { path } = openPtyPlant(["--flow", "1200", "--strokes", strokes]);
  const first = await start(`serial:${path}`);
  expect(await first.pump.lastStroke()).toBe(0);
  for (const number of [1, 2, 2, 3]) await first.pump.stroke(number);
  await first.until(() => first.heard.length >= 5);
  await first.meter.close();
  expect(await first.pump.lastStroke()).toBe(3);
  await first.pump.close();
  const heardMost = first.heard.at(-1) ?? 0;
  const second = await start(`serial:${path}`);
  await second.until(() => (second.heard.at(-1) ?? 0) >= heardMost + 5);
  await second.pump.stroke(4);
  expect(second.heard).toEqual(second.heard.map((_, i) => (second.heard[0] ?? 0) + i));
  expect(rows(strokes)).toEqual([1, 2, 3, 4]);
  expect([...first.lost, ...second.lost]).toEqual([]);
});

test("a buffer that nobody empties does not stop the meter, and the next feed reads what passed, over the wrap too", async () => {
  const contacts = join(folder(), "contacts.csv");
  const { path } = openPtyPlant(["--flow", "60000", "--register", "4294967290", "--contacts", contacts]);
  const unread = openSync(path, constants.O_RDWR | constants.O_NOCTTY);
  onTestFinished(() => {
    closeSync(unread);
  });
  writeSync(unread, "register\n");
  // Some 30 bytes each are several times what the kernel keeps for a terminal.
  while (!existsSync(contacts) || rows(contacts).length < 1_000) await setTimeout(20);
  const { heard, until } = await start(`serial:${path}`);
  expect(heard[0]).toBeGreaterThanOrEqual(994);
  expect(heard[0]).toBeLessThan(2 ** 31);
  const first = heard.length;
  await until(() => heard.length > first + 5);
  const steps = heard.slice(1).map((now, i) => now - (heard[i] ?? 0));
  expect(Math.min(...steps)).toBeGreaterThan(0);
});

test.each([
  ["killed", "silent"],
  ["stopped", "silent"],
  ["restarted", "restarted"],
  ["unplugged", "unplugged"],
])(
  "a plant that is %s is told as %s to both its ends, once, and makes no stroke any more",
  async (what, kind) => {
    const program = openPtyPlant(["--flow", "600"]);
    const { pump, heard, lost, until } = await start(`serial:${program.path}`);
    await until(() => heard.length > 2);
    if (what === "killed") await program.kill();
    else if (what === "stopped") program.stop();
    else if (what === "restarted") await program.restart();
    else await program.unplug();
    await until(() => lost.length > 1);
    expect(lost.map((fault) => fault.kind)).toEqual([kind, kind]);
    expect(lost[0]?.mend).not.toBe("");
    await expect(pump.stroke(1)).rejects.toMatchObject({ name: "FieldError", fault: { kind } });
  },
);

test("register and number are kept over a death of the plant that remembers them", async () => {
  const memory = join(folder(), "memory");
  const program = openPtyPlant(["--flow", "1200", "--memory", memory]);
  const first = await start(`serial:${program.path}`);
  await first.pump.stroke(1);
  await first.until(() => first.heard.length > 3);
  await program.restart();
  await first.until(() => first.lost.length > 1);
  await Promise.all([first.meter.close(), first.pump.close()]);
  const second = await start(`serial:${program.path}`);
  expect(second.heard[0]).toBeGreaterThanOrEqual(first.heard.at(-1) ?? Infinity);
  expect(await second.pump.lastStroke()).toBe(1);
});

test("a program on a pseudo-terminal and one behind TCP stand in the plant as well, as one end or both", async () => {
  const exec = `exec:${process.execPath} ${PLANT} --has pump`;
  const server = spawn(process.execPath, [PLANT, "--tcp", "0", "--has", "meter", "--flow", "1200"]);
  onTestFinished(() => void server.kill());
  const port = await new Promise<number>((resolve) => {
    server.stdout.once("data", (line: Buffer) => {
      resolve(Number(line.toString()));
    });
  });
  const { meter, pump } = await openField({ meter: `tcp:127.0.0.1:${port}`, pump: exec });
  onTestFinished(async () => {
    await Promise.all([meter.close(), pump.close()]);
  });
  const hangsUp = new Promise<FieldFault>((resolve) => {
    const third = new Promise<void>((heardThree) => {
      let count = 0;
      void meter.start({
        hear: () => {
          count += 1;
          if (count === 3) heardThree();
        },
        lost: resolve,
      });
    });
    void third.then(() => server.kill());
  });
  await pump.start({ lost: () => undefined });
  await pump.stroke(1);
  expect(await pump.lastStroke()).toBe(1);
  expect(await hangsUp).toMatchObject({ kind: "unplugged" });
});

test("contacts come as a script has them, and a pump that answers too late is silent", async () => {
  const script = join(folder(), "contacts.csv");
  writeFileSync(script, "# Invented.\ntime_s,event\n0.1,contact\n0.15,contact\n0.15,contact\n");
  const slow = openPtyPlant(["--has", "pump", "--late-ms", "1200"]);
  const meter = await openMeter(`exec:${process.execPath} ${PLANT} --has meter --script ${script}`);
  onTestFinished(() => meter.close());
  const heard = new Promise<void>((resolve) => {
    void meter.start({
      hear: (event) => {
        if (event.kind === "register" && event.contacts === 3) resolve();
      },
      lost: () => undefined,
    });
  });
  await heard;
  // Its greeting may take its time, its strokes may not.
  const pump = await openPump(`serial:${slow.path}`);
  onTestFinished(() => pump.close());
  await expect(pump.start({ lost: () => undefined })).rejects.toMatchObject({ fault: { kind: "silent" } });
});

test("an end that a device has not, a port that is not there and one that is held by another are refused with a mend", async () => {
  const exec = `exec:${process.execPath} ${PLANT} --has meter`;
  await expect(openPump(exec)).rejects.toMatchObject({
    fault: { kind: "refused", message: expect.stringMatching(/has no pump/) as string },
  });
  await expect(openMeter("serial:/dev/not-there")).rejects.toMatchObject({
    fault: { kind: "unplugged", mend: expect.stringMatching(/tallystroke ports/) as string },
  });
  const { path } = openPtyPlant();
  await start(`serial:${path}`);
  await expect(openMeter(`serial:${path}`)).rejects.toMatchObject({
    fault: { kind: "unplugged", mend: "another program holds the port: end it, then try again" },
  });
});
