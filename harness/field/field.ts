/**
 * What stands in the plant? A meter that tells contacts and a pump that makes strokes: the seams that `drive` works on.
 *
 * Harness layer. Nothing here knows of pacing. A meter counts by itself and is read, so that a lost line loses no
 * contact; strokes are numbered, so that one asked for twice is made once.
 */

/** What a meter or pump says of itself. */
export interface FieldAbout {
  /** The specification it was opened by, such as `mock` or `serial:/dev/ttyUSB0`. */
  readonly spec: string;
  /** What it calls itself. */
  readonly name: string;
  /** What whoever acts on it must know, in sentences: the poll rate of a line, an electrical caution. */
  readonly cautions: readonly string[];
}

/** What a meter tells. */
export type MeterEvent =
  /** Its register: contacts so far, modulo 2^32. More than one may have come since it was last told. */
  | { readonly kind: "register"; readonly contacts: number }
  /** The raw contact, to be qualified by the pacer. */
  | { readonly kind: "close" | "open" };

export interface FieldEars<Event> {
  readonly hear: (event: Event) => void;
  /** Told once: nothing more can come from it. */
  readonly lost: (fault: FieldFault) => void;
}

export interface Meter {
  readonly about: FieldAbout;
  /** Whether it counts on while nobody listens; its first event is then its register. */
  readonly keepsRegister: boolean;
  /** Starts to tell. Rejects with a {@link FieldError}. */
  start(ears: FieldEars<MeterEvent>): Promise<void>;
  /** Never rejects; no ear is called after it. */
  close(): Promise<void>;
}

/** The largest stroke number and register reading; after it comes 0. */
export const FIELD_NUMBER_MOST = 4_294_967_295;

export interface Pump {
  readonly about: FieldAbout;
  /** Whether it knows which stroke it made last, also after this program was killed. */
  readonly keepsNumber: boolean;
  /** Gets ready, with every line idle. Rejects with a {@link FieldError}. */
  start(ears: Pick<FieldEars<never>, "lost">): Promise<void>;
  /** Number of the last stroke that it made, 0 for none; undefined where it keeps none. */
  lastStroke(): Promise<number | undefined>;
  /**
   * Makes the stroke of this number, 1 more than the last: resolves once it has begun and the pump said so, within the
   * limits; rejects with a {@link FieldError}. A pump that keeps numbers makes one that it has made no second time.
   */
  stroke(number: number): Promise<void>;
  /** Leaves it idle, whatever happened. Never rejects. */
  close(): Promise<void>;
}

/** Why a meter or pump cannot go on. */
export interface FieldFault {
  readonly kind: "silent" | "unplugged" | "restarted" | "refused" | "nonsense";
  /** What happened and where, in words. */
  readonly message: string;
  /** What to do. */
  readonly mend: string;
}

/** It ends in exit status 3. */
export class FieldError extends Error {
  override readonly name = "FieldError";

  constructor(readonly fault: FieldFault) {
    super(`${fault.message}. Mend: ${fault.mend}.`);
  }
}
