/**
 * Is every specification read as it is meant, and every bad one refused with its place and a mend?
 */
import { expect, test } from "vitest";
import { InputError } from "../../harness/files/fault.js";
import { openField } from "../../harness/field/open.js";
import { FIELD_SPECS, readFieldSpec } from "../../harness/field/spec.js";

test.each([
  ["mock", { form: "mock", pace: 1 }],
  ["mock?pace=0.1", { form: "mock", pace: 0.1 }],
  ["mock?pace=100", { form: "mock", pace: 100 }],
  ["serial:/dev/ttyUSB0", { form: "serial", place: "/dev/ttyUSB0" }],
  ["exec:./pump --a b?c=d", { form: "exec", place: "./pump --a b?c=d" }],
  ["tcp:well:4000", { form: "tcp", host: "well", port: 4_000 }],
  ["tcp:[::1]:65535", { form: "tcp", host: "::1", port: 65_535 }],
  ["lines:/dev/ttyS0", { form: "lines", path: "/dev/ttyS0", pulseMicros: 50_000, pollMicros: 2_000 }],
  [
    "lines:COM3?contact=dcd&stroke=rts&supply=dtr&pulse=10ms&poll=20ms",
    {
      form: "lines",
      path: "COM3",
      contact: "dcd",
      stroke: "rts",
      supply: "dtr",
      pulseMicros: 10_000,
      pollMicros: 20_000,
    },
  ],
  [
    "lines:/dev/a?pulse=1s&poll=1ms",
    { form: "lines", path: "/dev/a", pulseMicros: 1_000_000, pollMicros: 1_000 },
  ],
])("%s", (spec, read) => {
  expect(readFieldSpec("--meter", spec)).toEqual(read);
});

test.each([
  ["", /names no meter or pump.*give mock, serial:PATH/],
  ["mocking", /names no meter or pump/],
  ["mock:2", /names no meter or pump/],
  ["model", /names no meter or pump/],
  ["serial:", /names no meter or pump/],
  ["serial?baud=1", /names no meter or pump/],
  ["tcp:well", /names no meter or pump/],
  ["tcp:well:0", /names no meter or pump/],
  ["tcp:well:65536", /names no meter or pump/],
  ["lines:?contact=cts", /names no meter or pump/],
  ["mock?pace=0.05", /pace of "0.05".*give 0.1 to 100/],
  ["mock?pace=101", /give 0.1 to 100/],
  ["mock?pace=1e1", /give 0.1 to 100/],
  ["mock?speed=2", /has "speed=2".*pace=…/],
  ["mock?pace=1&pace=2", /has pace twice/],
  ["lines:/dev/a?contact=rts", /has contact=rts.*contact=cts or contact=dsr or contact=dcd/],
  ["lines:/dev/a?stroke=cts", /has stroke=cts.*stroke=rts or stroke=dtr/],
  ["lines:/dev/a?stroke=rts&supply=rts", /rts both as stroke and as supply/],
  ["lines:/dev/a?pulse=9.999ms", /10 to 1000 ms/],
  ["lines:/dev/a?pulse=1001ms", /10 to 1000 ms/],
  ["lines:/dev/a?pulse=50", /10 to 1000 ms/],
  ["lines:/dev/a?poll=0.999ms", /1 to 20 ms/],
  ["lines:/dev/a?poll=21ms", /1 to 20 ms/],
  ["lines:/dev/a?contact", /has "contact"/],
  ["lines:/dev/a?contact=cts&", /has ""/],
])("%j is refused", (spec, words) => {
  expect(() => readFieldSpec("--meter", spec)).toThrow(InputError);
  expect(() => readFieldSpec("--meter", spec)).toThrow(words);
  expect(() => readFieldSpec("--meter", spec)).toThrow(/^--meter .* Mend: /);
});

test("lines that name no contact for a meter, no stroke for a pump, or one port in two ways are refused", async () => {
  const refusal = async (meter: string, pump: string): Promise<unknown> =>
    openField({ meter, pump }).catch((error: unknown) => (error as InputError).faults);
  expect(await refusal("lines:/dev/not-there?stroke=rts", "mock")).toMatchObject([
    { field: "--meter", mend: "add contact=cts, dsr or dcd" },
  ]);
  expect(await refusal("mock", "lines:/dev/not-there?contact=cts")).toMatchObject([
    { field: "--pump", mend: "add stroke=rts or dtr" },
  ]);
  expect(await refusal("lines:/dev/x?contact=cts", "lines:/dev/x?stroke=rts")).toMatchObject([
    { field: "--pump", mend: "give both the same" },
  ]);
  expect(await refusal("mock", "nothing")).toMatchObject([{ field: "--pump" }]);
});

test("every form that help shows is one that is read", () => {
  for (const [form] of FIELD_SPECS) {
    const spec = form.replace("PATH", "/dev/a").replace("HOST:PORT", "a:1").replace("COMMAND", "a");
    expect(readFieldSpec("--meter", spec).form).toBe(/^[a-z]+/.exec(form)?.[0]);
  }
});
