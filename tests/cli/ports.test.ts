/**
 * Does `tallystroke ports` list what there is, and say what to do where there is nothing or nothing can be listed?
 */
import { expect, test } from "vitest";
import { type ListPorts, portsVerb } from "../../harness/cli/ports.js";
import { DEVICE_SPECS } from "../../harness/devices/open.js";
import { type Ended, run } from "./kit.js";

async function list(ports: ListPorts, ...args: string[]): Promise<Ended> {
  let result = "";
  let talk = "";
  let status: number | null = null;
  const verb = portsVerb(
    {
      result: (text) => {
        result += text;
        return Promise.resolve();
      },
      talk: (text) => {
        talk += text;
      },
    },
    (ending) => (status = ending),
    ports,
  );
  await verb.parseAsync(args, { from: "user" });
  return { status, result, talk };
}

const TWO: ListPorts = () =>
  Promise.resolve([
    { path: "/dev/ttyUSB0", maker: "Some Maker", product: "serial adapter", serialNumber: "42" },
    { path: "/dev/ttyS0", maker: undefined, product: "", serialNumber: undefined },
  ]);
const BROKEN: ListPorts = () => Promise.reject(new Error("spawn udevadm ENOENT"));

test("each port stands in a line as it is given to --device, with what is known of it", async () => {
  expect(await list(TWO)).toEqual({
    status: 0,
    result: "serial:/dev/ttyUSB0  Some Maker, serial adapter, 42\nserial:/dev/ttyS0\n",
    talk: "",
  });
});

test("for machines there is one object", async () => {
  const { status, result, talk } = await list(TWO, "--json");
  expect({ status, talk, ports: JSON.parse(result) as unknown }).toEqual({
    status: 0,
    talk: "",
    ports: {
      ports: [
        { path: "/dev/ttyUSB0", maker: "Some Maker", product: "serial adapter", serialNumber: "42" },
        { path: "/dev/ttyS0", product: "" },
      ],
    },
  });
});

test("without a port it says what else can be a device", async () => {
  const { status, result } = await list(() => Promise.resolve([]));
  expect(status).toBe(0);
  for (const [form, meaning] of DEVICE_SPECS) expect(result).toContain(`${form.padEnd(14)} ${meaning}`);
});

test("where ports cannot be listed it says so, with a mend, and ends in status 3", async () => {
  const { status, result, talk } = await list(BROKEN, "--json");
  expect({ status, result, talk }).toEqual({
    status: 3,
    result: '{\n  "ports": []\n}\n',
    talk:
      "The ports cannot be listed: spawn udevadm ENOENT.\n" +
      "Mend: on Linux install udevadm, or name the port yourself: --device serial:PATH\n",
  });
});

test("on this machine it ends in a list or in a mend, and never in a crash", async () => {
  const { status, talk } = await run("ports");
  expect(status === 0 ? talk : talk.split("\n")[1]).toMatch(status === 0 ? /^$/ : /^Mend: /);
});
