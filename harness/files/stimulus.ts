/**
 * What went into a controller, by a file? Reads a stimulus, or a whole trace, row by row. Harness layer.
 *
 * Memory does not grow with the file: a chunk of bytes is cut into cells by the CSV library, becomes a batch of
 * events, and is let go before the next is asked for. Of a whole trace, what came out and the wake-ups are skipped: a
 * replay makes its own.
 */
import { createReadStream, statSync } from "node:fs";
import { setTimeout } from "node:timers/promises";
import { type Info, parse, type Parser } from "csv-parse";
import { isStimulus, readHeader, type RowReader, type StimulusEvent } from "../../lib/trace/index.js";
import { fileFault, InputError } from "./fault.js";
import { LINE_BYTES_MOST, soundText } from "./text.js";

const CHUNK_BYTES = 65_536;
/** How long a signal to this process may come after its input was cut by the same signal, in ms. */
const SIGNAL_MILLIS = 5;
export const STDIN = "-";

/** A source of events: a file, or `-` for standard input. */
export interface StimulusFile {
  /** As faults name it. */
  readonly name: string;
  /** Length in bytes, undefined where it cannot be known before the end. */
  readonly bytes: number | undefined;
  /** Batches of events, in order; throws an InputError at the first fault. `onBytes` is told how much was read. */
  events(onBytes?: (bytes: number) => void): AsyncGenerator<readonly StimulusEvent[]>;
}

export function openStimulus(path: string): StimulusFile {
  const name = path === STDIN ? "standard input" : path;
  return {
    name,
    bytes: path === STDIN ? undefined : lengthOf(path),
    events: (onBytes = () => undefined) => readEvents(readBytes(path, name, onBytes), name),
  };
}

function lengthOf(path: string): number | undefined {
  try {
    const stat = statSync(path);
    return stat.isFile() ? stat.size : undefined;
  } catch (error) {
    throw new InputError([fileFault(path, error, "read")]);
  }
}

async function* readBytes(
  path: string,
  name: string,
  onBytes: (bytes: number) => void,
): AsyncGenerator<Buffer> {
  const source = path === STDIN ? process.stdin : createReadStream(path, { highWaterMark: CHUNK_BYTES });
  try {
    for await (const chunk of source as AsyncIterable<Buffer>) {
      onBytes(chunk.length);
      yield chunk;
    }
  } catch (error) {
    throw error instanceof InputError ? error : new InputError([fileFault(name, error, "read")]);
  }
}

async function* readEvents(
  bytes: AsyncIterable<Buffer>,
  file: string,
): AsyncGenerator<readonly StimulusEvent[]> {
  const parser = parse({
    comment: "#",
    comment_no_infix: true,
    quote: null,
    record_delimiter: "\n",
    relax_column_count: true,
    max_record_size: 2 * LINE_BYTES_MOST,
    info: true,
  });
  let rows: RowReader | undefined;

  const take = (): StimulusEvent[] => {
    const batch: StimulusEvent[] = [];
    for (const { record, info } of recordsIn(parser)) {
      if (rows === undefined) {
        rows = rowsUnder(record, info.lines, file);
        continue;
      }
      const read = rows.read(record, info.lines);
      if (!read.ok) throw new InputError([read.fault]);
      if (isStimulus(read.event) && read.event.kind !== "wake") batch.push(read.event);
    }
    return batch;
  };

  for await (const chunk of soundText(bytes, file)) {
    // The parser is done with a chunk only when its rows have been taken.
    const written = settled((done) => parser.write(chunk, done));
    yield take();
    await written;
  }
  // A signal that comes with the end acts first: a log whose writer was killed must not pass for a whole one.
  await setTimeout(SIGNAL_MILLIS);
  const ended = settled((done) => parser.end(done));
  yield take();
  await ended;
  if (rows === undefined) {
    throw new InputError([{ file, fault: "has no header row", mend: "start it with the line time_s,event" }]);
  }
}

interface Row {
  readonly record: string[];
  readonly info: Info;
}

/** What the parser has ready. */
function* recordsIn(parser: Parser): Generator<Row> {
  for (;;) {
    const row = parser.read() as Row | null;
    if (row === null) return;
    yield row;
  }
}

function settled(start: (done: (error?: Error | null) => void) => void): Promise<void> {
  return new Promise((resolve, reject) => {
    start((error) => {
      if (error) reject(error);
      else resolve();
    });
  });
}

function rowsUnder(cells: readonly string[], line: number, file: string): RowReader {
  const header = readHeader(cells, line, file);
  if (!header.ok) throw new InputError([header.fault]);
  return header.rows;
}
