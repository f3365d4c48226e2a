/**
 * What does a whole image take of the part: flash, static RAM, and how deep does its stack go while it is put through its paces? Bench.
 *
 * RAM is painted before the start; what lies unpainted below is static, what lies above is stack. Nothing but the image is needed.
 */
import { putOnBench } from "../../harness/devices/avr-bench.js";
import { emulateInProcess, machineWith } from "../../harness/devices/avr-in-process.js";
import { RAM_BYTES } from "../../harness/firmware/emulator/machine.js";
import { readFileSync } from "node:fs";
import { connect } from "../../harness/link/client.js";
import { verifyDevice } from "../../harness/verify/verify.js";
import { validateSettings } from "../../lib/pacing/index.js";

const RAM = 0x100;
const PAINT = 0xa5;
/** Shorter stretches of paint may be gaps in what is in use. */
const GAP_LEAST = 32;
/** Every mode, and a change of settings. */
const SCENARIOS = ["bounce", "hold-and-release", "ratio-change", "prime-in-the-middle"];

export interface ImageMemory {
  readonly flashBytes: number;
  readonly staticBytes: number;
  readonly stackBytes: number;
}

/** Plays scenarios on an image in Intel HEX. */
export async function imageMemory(path: string, names: readonly string[] = SCENARIOS): Promise<ImageMemory> {
  const machine = machineWith(path);
  const { data } = machine.cpu;
  data.fill(PAINT, RAM);
  const { transport, clock } = putOnBench(emulateInProcess(machine));
  const device = await connect(transport, { clock });
  const sound = validateSettings({ strokes: 5, contacts: 3, leastSpacingMicros: 500_000 });
  if (!sound.ok) throw new Error("settings that are sound are refused");
  const { takes, role } = device.about;
  const scenarios = role === "fixture" || !takes.has("contact") ? ["steady"] : names;
  await verifyDevice(device, sound.settings, { scenarios, quick: true });
  await device.close();
  const [first, end] = longestGap(data);
  return { flashBytes: flashOf(path), staticBytes: first - RAM, stackBytes: RAM + RAM_BYTES - end };
}

function longestGap(data: Uint8Array): [first: number, end: number] {
  let best: [number, number] = [RAM, RAM];
  for (let at = RAM; at < data.length; at++) {
    const first = at;
    while (data[at] === PAINT) at += 1;
    if (at - first >= GAP_LEAST && at - first > best[1] - best[0]) best = [first, at];
  }
  return best;
}

/** The bytes of all data records. */
function flashOf(path: string): number {
  const records = readFileSync(path, "utf8").matchAll(/^:(..)....00/gm);
  return [...records].reduce((sum, [, length]) => sum + Number.parseInt(length ?? "0", 16), 0);
}
