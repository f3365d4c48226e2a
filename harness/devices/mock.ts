/**
 * A virtual controller behind a mock serial port, in virtual time. Harness layer.
 *
 * It speaks the link byte for byte; the same bytes in give the same bytes out. Time goes on only as it is told.
 */
import { LAW_NAMES } from "../../lib/laws/index.js";
import { EVENT_KINDS, isStimulusKind } from "../../lib/trace/index.js";
import { type DeviceEnd, newDeviceEnd } from "../link/device-end.js";
import type { DeviceProfile } from "../link/device-end-profile.js";
import { SETTING_NAMES } from "../link/setting-names.js";
import { type Transport, TransportError } from "../link/transport.js";
import type { StartRun } from "../device.js";
import { openMockPort } from "./mock-port.js";
import { runModel } from "./model.js";

/** A controller that takes, tells and can be set to everything. */
export const MOCK_PROFILE: DeviceProfile = {
  name: "virtual controller",
  role: "controller",
  ticksPerSecond: 1_000_000,
  width: 32,
  queue: 64,
  window: 16,
  keep: 1_024,
  clock: ["stepped", "settable", "lag"],
  takes: EVENT_KINDS.filter(isStimulusKind),
  tells: EVENT_KINDS.filter((kind) => !isStimulusKind(kind) && kind !== "fault"),
  laws: LAW_NAMES.map((_, i) => i + 1),
  settable: SETTING_NAMES,
};

/** A fixture: it closes a contact and sees strokes, whatever made them; the controller behind it is set by hand. */
export function fixtureProfile(madeByHand: NonNullable<DeviceProfile["madeByHand"]>): DeviceProfile {
  return {
    ...MOCK_PROFILE,
    name: "virtual fixture",
    role: "fixture",
    takes: ["contact", "close", "open"],
    tells: ["stroke"],
    laws: [1, 3, 4, 8, 14, 15],
    settable: [],
    madeByHand,
  };
}

/** Opens a transport to a fresh virtual device; any number can be open at once. */
export async function openMockTransport(
  start: StartRun = runModel,
  profile: DeviceProfile = MOCK_PROFILE,
): Promise<Transport> {
  let end: DeviceEnd | undefined;
  const stream = await openMockPort((send) => (end = newDeviceEnd(start, profile, send)));
  let tellGone: (why: string) => void = () => undefined;
  let isClosed = false;
  stream.on("error", (error: Error) => {
    if (!isClosed) tellGone(error.message);
  });
  return {
    name: "mock",
    send: (bytes) =>
      new Promise((done, fail) => {
        const refuse = (why: string): void => {
          fail(new TransportError(`mock: ${why}`, "open it again"));
        };
        if (!stream.isOpen) refuse("the port is closed");
        else {
          stream.write(Buffer.from(bytes), (error) => {
            if (error) refuse(error.message);
            else done();
          });
        }
      }),
    onBytes(take) {
      stream.on("data", (bytes: Uint8Array) => {
        if (!isClosed) take(bytes);
      });
    },
    onGone(tell) {
      tellGone = tell;
    },
    close: () =>
      new Promise((done) => {
        isClosed = true;
        end?.close();
        stream.close(() => {
          done();
        });
      }),
  };
}
