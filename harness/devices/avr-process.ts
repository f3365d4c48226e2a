/**
 * The microcontroller emulated by our host program on libsimavr, where that has been built. Harness layer.
 *
 * One command is under way at a time. Each is answered by a line `CYCLE idle|busy LENGTH` and as many bytes.
 */
import { spawn } from "node:child_process";
import { TransportError } from "../link/transport.js";
import type { Emulation, Stretch } from "./avr-emulation.js";

const LF = 0x0a;
const MEND = "build it anew with `npm run firmware`";

/** Starts the host program `path` with an image; a program that cannot be started is told by the first command. */
export function emulateInProgram(path: string, image: string, name = "avr"): Emulation {
  const program = spawn(path, ["--bench", image], { stdio: ["pipe", "pipe", "pipe"] });
  let heard: Buffer = Buffer.alloc(0);
  let complaint = "";
  let why: string | undefined;
  let answered: (() => void) | undefined;
  const ended = new Promise<void>((resolve) => {
    const end = (words: string): void => {
      why ??= complaint === "" ? words : complaint.trim();
      answered?.();
      resolve();
    };
    program.on("error", (error) => {
      end(error.message);
    });
    program.on("close", (status, signal) => {
      end(
        signal === null ? `it ended with status ${status ?? "unknown"}` : `it was ended by signal ${signal}`,
      );
    });
  });
  // A program that has ended takes nothing more, which its end tells.
  program.stdin.on("error", () => undefined);
  program.stderr.setEncoding("utf8").on("data", (words: string) => {
    complaint = (complaint + words).slice(-500);
  });
  program.stdout.on("data", (bytes: Buffer) => {
    heard = heard.length === 0 ? bytes : Buffer.concat([heard, bytes]);
    answered?.();
  });

  const take = (): Stretch | undefined => {
    const end = heard.indexOf(LF);
    if (end < 0) return undefined;
    const [cycle, state, length] = heard.toString("latin1", 0, end).split(" ");
    const after = end + 1 + Number(length);
    if (heard.length < after) return undefined;
    const bytes = Uint8Array.prototype.slice.call(heard, end + 1, after);
    heard = heard.subarray(after);
    return { cycle: Number(cycle), isIdle: state === "idle", bytes };
  };

  const command = async (
    verb: "settle" | "advance",
    untilCycle: number,
    bytes: Uint8Array,
  ): Promise<Stretch> => {
    const until = Math.min(untilCycle, Number.MAX_SAFE_INTEGER);
    program.stdin.write(Buffer.concat([Buffer.from(`${verb} ${until} ${bytes.length}\n`), bytes]));
    for (;;) {
      const stretch = take();
      if (stretch !== undefined) return stretch;
      if (why !== undefined) throw new TransportError(`the emulator ${path} went away: ${why}`, MEND);
      await new Promise<void>((resolve) => (answered = resolve));
    }
  };

  return {
    name,
    settle: (bytes, untilCycle) => command("settle", untilCycle, bytes),
    advance: (untilCycle) => command("advance", untilCycle, new Uint8Array()),
    async close() {
      program.stdin.end();
      program.kill();
      await ended;
    },
  };
}
