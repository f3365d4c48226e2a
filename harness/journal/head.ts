/**
 * Has a journal lost its tail? A witness beside the database, written after each step that was committed. Harness layer.
 *
 * A database that recovers from a damaged or a shortened log goes back to an older step without a word. The witness is
 * one line that says how far it had come, and until when the feed was alive. It is not flushed to the disk, so it may be older than the journal, which
 * means nothing, but never newer.
 */
import { closeSync, existsSync, openSync, readFileSync, writeSync } from "node:fs";
import { join } from "node:path";
import { crc16, type Micros } from "../../lib/pacing/index.js";
import { HEAD_FILE } from "./schema.js";

/** How far a journal had come. */
export interface Head {
  readonly step: number;
  /** Contacts that counted or were ignored, and strokes of either cause, since it began. */
  readonly contacts: number;
  readonly strokes: number;
  /** The boot-time clock, when it was last known to be kept, in µs; 0 where there is none. */
  readonly bootMicros: Micros;
}

/** What was written and is not there any more: by the witness, or nobody knows how much. */
export type LostTail = Omit<Head, "bootMicros"> | "unknown";

export interface HeadFile {
  write(head: Head): void;
  close(): void;
}

const DIGITS = 16;
const FORM = /^step (\d{16}) contacts (\d{16}) strokes (\d{16}) boot (\d{16}) check ([0-9a-f]{4})\n/;

/** Throws what the operating system says. */
export function openHead(folder: string): HeadFile {
  const path = join(folder, HEAD_FILE);
  const file = openSync(path, existsSync(path) ? "r+" : "w");
  return {
    write: (head) => {
      writeSync(file, headText(head), 0);
    },
    close: () => {
      closeSync(file);
    },
  };
}

/** What the witness says; `none` where nothing was written yet, `unreadable` where its line is not sound. */
export function readHead(folder: string): Head | "none" | "unreadable" {
  const path = join(folder, HEAD_FILE);
  const text = existsSync(path) ? readFileSync(path, "latin1") : "";
  if (text === "") return "none";
  const [, step, contacts, strokes, boot] = FORM.exec(text) ?? [];
  const head = {
    step: Number(step),
    contacts: Number(contacts),
    strokes: Number(strokes),
    bootMicros: Number(boot),
  };
  return headText(head) === text ? head : "unreadable";
}

/** Compares where the journal stands, if it has a step, with its witness, which must have been read before. */
export function lostOf(
  now: Omit<Head, "bootMicros"> | undefined,
  head: ReturnType<typeof readHead>,
): LostTail | undefined {
  if (head === "unreadable") return "unknown";
  // A kill may come between the first step and the witness's first word.
  if (head === "none") return now === undefined || now.step === 1 ? undefined : "unknown";
  const { step, contacts, strokes } = now ?? { step: 0, contacts: 0, strokes: 0 };
  if (head.step <= step) return undefined;
  return { step: head.step - step, contacts: head.contacts - contacts, strokes: head.strokes - strokes };
}

function headText({ step, contacts, strokes, bootMicros }: Head): string {
  const digits = (count: number): string => String(count).padStart(DIGITS, "0");
  const text = `step ${digits(step)} contacts ${digits(contacts)} strokes ${digits(strokes)} boot ${digits(bootMicros)} check `;
  return `${text}${crc16(Buffer.from(text), text.length).toString(16).padStart(4, "0")}\n`;
}
