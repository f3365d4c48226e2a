/**
 * What becomes of a specification that names no device, or one that does not answer?
 */
import { afterEach, expect, test } from "vitest";
import type { Device } from "../../harness/devices/device.js";
import { openDevice } from "../../harness/devices/open.js";
import { InputError } from "../../harness/files/fault.js";

const opened: Device[] = [];

afterEach(async () => {
  for (const device of opened.splice(0)) await device.close();
});

async function open(spec: string): Promise<Device> {
  const device = await openDevice(spec, { limits: { patienceMicros: 300_000 } });
  opened.push(device);
  return device;
}

test("a program that cannot speak the link is a device failure with a mend", async () => {
  await expect(open("exec:cat")).rejects.toMatchObject({ name: "DeviceError" });
  await expect(open("exec:false")).rejects.toMatchObject({ fault: { kind: "unplugged" } });
});

test.each(["", "avr", "serial:", "tcp:host", "tcp:host:0", "tcp:host:70000", "usb:1"])(
  "the specification %j is bad input",
  async (spec) => {
    await expect(openDevice(spec)).rejects.toThrow(InputError);
  },
);

test("a port that is not there is a device failure", async () => {
  await expect(open("serial:/dev/no-such-port")).rejects.toMatchObject({ fault: { kind: "unplugged" } });
});
