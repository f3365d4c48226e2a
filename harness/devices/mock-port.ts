/**
 * A serial port of `@serialport/stream` on `@serialport/binding-mock`, with a device behind it. Harness layer.
 *
 * The one place that knows these packages' types, which do not resolve here. The mock only records what is written: its
 * `write` is led on to the device.
 */
import { createRequire } from "node:module";
import type { Duplex } from "node:stream";

/** One open port of the mock binding. */
interface MockPort {
  readonly isOpen: boolean;
  write: (bytes: Buffer) => Promise<void>;
  emitData(bytes: Buffer): void;
}

interface MockPackage {
  readonly MockBinding: {
    createPort(path: string, options: { readonly maxReadSize: number }): void;
  };
}

/** As far as it is used here. */
export interface SerialStream extends Duplex {
  readonly isOpen: boolean;
  readonly port?: MockPort;
  open(done: (error: Error | null) => void): void;
  close(done: (error: Error | null) => void): void;
}

interface StreamPackage {
  readonly SerialPortStream: new (options: {
    readonly binding: unknown;
    readonly path: string;
    readonly baudRate: number;
    readonly autoOpen: boolean;
  }) => SerialStream;
}

/** What stands behind the port. */
interface Behind {
  readonly take: (bytes: Uint8Array) => void;
}

const BAUD_RATE = 115_200;
const READ_MOST = 65_536;

const load = createRequire(import.meta.url);
const { MockBinding } = load("@serialport/binding-mock") as MockPackage;
const { SerialPortStream } = load("@serialport/stream") as StreamPackage;

let opened = 0;

/** Opens a port that no other has, and starts a device behind it. */
export async function openMockPort(
  startDevice: (send: (bytes: Uint8Array) => void) => Behind,
): Promise<SerialStream> {
  opened += 1;
  const path = `/dev/mock${opened}`;
  MockBinding.createPort(path, { maxReadSize: READ_MOST });
  const stream = new SerialPortStream({ binding: MockBinding, path, baudRate: BAUD_RATE, autoOpen: false });
  await new Promise<void>((done, fail) => {
    stream.open((error) => {
      if (error === null) done();
      else fail(error);
    });
  });
  const { port } = stream;
  if (port === undefined) throw new Error("an open port has no binding");
  // What the device says at once is handed on in one piece: the mock copies all that is unread for every piece.
  let pieces: Uint8Array[] = [];
  let isTaking = false;
  const flush = (): void => {
    const bytes = Buffer.concat(pieces);
    pieces = [];
    if (bytes.length > 0 && port.isOpen) port.emitData(bytes);
  };
  const device = startDevice((bytes) => {
    pieces.push(bytes);
    if (!isTaking) flush();
  });
  const write = port.write.bind(port);
  port.write = async (bytes) => {
    await write(bytes);
    isTaking = true;
    device.take(bytes);
    isTaking = false;
    flush();
  };
  return stream;
}
