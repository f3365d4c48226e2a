/**
 * What do the lines of an open port do, and what are they made to do? Looking, pulses and limits. Harness layer.
 *
 * Nothing waits longer than a second. A port that fails is told once, and its outputs are dropped if that still can be.
 */
import type { Micros } from "../../lib/pacing/index.js";
import type { BenchClock } from "../link/transport.js";
import { FieldError, type FieldFault } from "./field.js";
import type { InputLines, LinePort, OutputLines } from "./line-port.js";
import type { LinesSpec } from "./spec.js";

/** How long the system may take to read or to set the lines. */
const LIMIT_MICROS: Micros = 1_000_000;
/** How often a port without a contact is looked at, so that one that was unplugged is found out. */
const BEAT_MICROS: Micros = 500_000;
const PLUG_IN = "plug the adapter in again and begin anew";

interface Ear {
  readonly lost: (fault: FieldFault) => void;
}

export class LineWatch {
  private readonly idle: OutputLines;
  private readonly ears = new Set<Ear>();
  private fault: FieldFault | undefined;
  private tell: ((isClosed: boolean) => void) | undefined;
  /** As it was told last; undefined until the contact was seen open, since what began unseen is no closure. */
  private isContactClosed: boolean | undefined;
  private isClosing = false;
  private stopLook: () => void = () => undefined;
  private stopPulse: () => void = () => undefined;
  private isPulsing = false;
  /** When pulse and rest should be over, and when the rest really is: a busy machine ends a pulse late. */
  private restPlannedMicros: Micros = -Infinity;
  private restUntilMicros: Micros = -Infinity;
  /** How often whoever waits for its pulse was overtaken by an end. */
  private drops = 0;
  private tellOver: () => void = () => undefined;
  /** Outputs are set one after the other, as asked. */
  private setting: Promise<unknown> = Promise.resolve();

  constructor(
    private readonly spec: string,
    private readonly port: LinePort,
    private readonly read: LinesSpec,
    private readonly clock: BenchClock,
  ) {
    this.idle = { rts: read.supply === "rts", dtr: read.supply === "dtr" };
  }

  /** Drops the outputs and begins to look. Rejects with a {@link FieldError}, the port closed. */
  async begin(): Promise<void> {
    try {
      await this.set(this.idle);
      await this.within("reading its lines", this.port.get());
    } catch (error) {
      await this.close();
      if (!(error instanceof FieldError) || error.fault.kind === "silent") throw error;
      throw new FieldError({
        kind: "refused",
        message: `${this.spec} has no modem-control lines that can be worked: ${error.fault.message}`,
        mend: "give a serial port or adapter that has them; a pseudo-terminal has none",
      });
    }
    this.lookAt(this.clock.nowMicros());
  }

  /** Whoever joins is told if the port is lost; answers why it is lost already. */
  join(ear: Ear): FieldFault | undefined {
    if (this.fault === undefined) this.ears.add(ear);
    return this.fault;
  }

  leave(ear: Ear | undefined): void {
    if (ear !== undefined) this.ears.delete(ear);
  }

  /** Tells whether the contact is closed, each time that it changed; `open` first, as soon as it was seen open. */
  listen(tell: ((isClosed: boolean) => void) | undefined): void {
    this.tell = tell;
    this.isContactClosed = undefined;
  }

  /** Makes one pulse; resolves once it has begun. Rejects with a {@link FieldError}. */
  async pulse(): Promise<void> {
    if (this.fault !== undefined) throw new FieldError(this.fault);
    const { stroke, pulseMicros } = this.read;
    if (stroke === undefined || this.clock.nowMicros() < this.restPlannedMicros) {
      throw new FieldError({
        kind: "refused",
        message: `${this.spec}: a stroke was asked for before the pulse of the last one and a rest as long were over`,
        mend: "give a shorter pulse or a lower cap",
      });
    }
    const { drops } = this;
    await this.within("ending the last pulse", this.rested());
    if (this.isClosing || drops !== this.drops) {
      throw new FieldError({
        kind: "refused",
        message: `${this.spec}: the relay was let go before the stroke could begin`,
        mend: "open it anew",
      });
    }
    this.isPulsing = true;
    try {
      await this.set({ ...this.idle, [stroke]: true });
    } catch (error) {
      void this.drop();
      throw error;
    }
    this.restPlannedMicros = this.clock.nowMicros() + 2 * pulseMicros;
    this.stopPulse = this.clock.after(pulseMicros, () => void this.endPulse());
  }

  /** Waits out what runs late of the last pulse and its rest. */
  private async rested(): Promise<void> {
    if (this.isPulsing) await new Promise<void>((resolve) => (this.tellOver = resolve));
    const restMicros = this.restUntilMicros - this.clock.nowMicros();
    if (restMicros > 0) await new Promise<void>((resolve) => void this.clock.after(restMicros, resolve));
  }

  /** Ends a pulse that is on, and makes none that still waits. Never rejects: a line that cannot be dropped is told as lost. */
  async drop(): Promise<void> {
    this.drops += 1;
    await this.endPulse();
  }

  private async endPulse(): Promise<void> {
    this.stopPulse();
    if (!this.isPulsing) return;
    await this.set(this.idle).catch(() => undefined);
    this.restUntilMicros = this.clock.nowMicros() + this.read.pulseMicros;
    this.isPulsing = false;
    this.tellOver();
  }

  /** Never rejects. */
  async close(): Promise<void> {
    if (this.isClosing) return;
    this.isClosing = true;
    this.stopLook();
    this.stopPulse();
    await this.set({ rts: false, dtr: false }).catch(() => undefined);
    await this.within("closing it", this.port.close()).catch(() => undefined);
  }

  private lookAt(dueMicros: Micros): void {
    if (this.isClosing || this.fault !== undefined) return;
    this.stopLook = this.clock.after(Math.max(0, dueMicros - this.clock.nowMicros()), () => {
      void this.look(dueMicros);
    });
  }

  private async look(dueMicros: Micros): Promise<void> {
    let lines: InputLines;
    try {
      lines = await this.within("reading its lines", this.port.get());
    } catch (error) {
      if (error instanceof FieldError) this.lose(error.fault);
      return;
    }
    this.see(lines);
    const { contact, pollMicros } = this.read;
    const everyMicros = contact === undefined ? BEAT_MICROS : pollMicros;
    // What a busy machine could not look at is over: it is not made up for by looking faster.
    this.lookAt(Math.max(dueMicros + everyMicros, this.clock.nowMicros()));
  }

  private see(lines: InputLines): void {
    const { contact } = this.read;
    if (contact === undefined || this.isClosing) return;
    const isClosed = lines[contact];
    if (isClosed === this.isContactClosed || (isClosed && this.isContactClosed === undefined)) return;
    if (this.tell === undefined) return;
    this.isContactClosed = isClosed;
    this.tell(isClosed);
  }

  private set(lines: OutputLines): Promise<void> {
    const setting = this.setting.then(() => this.port.set(lines));
    this.setting = setting.catch(() => undefined);
    return this.within("setting its lines", setting).catch((error: unknown) => {
      if (error instanceof FieldError) this.lose(error.fault);
      throw error;
    });
  }

  private lose(fault: FieldFault): void {
    if (this.fault !== undefined || this.isClosing) return;
    this.fault = fault;
    this.stopLook();
    void this.drop();
    for (const ear of [...this.ears]) ear.lost(fault);
  }

  /** Waits at most a second; rejects with a {@link FieldError}. */
  private within<Value>(doing: string, act: Promise<Value>): Promise<Value> {
    return new Promise((resolve, reject) => {
      const stop = this.clock.after(LIMIT_MICROS, () => {
        const message = `${this.spec}: ${doing} took more than ${LIMIT_MICROS / 1e6} s`;
        reject(new FieldError({ kind: "silent", message, mend: PLUG_IN }));
      });
      act.then(
        (value) => {
          stop();
          resolve(value);
        },
        (error: unknown) => {
          stop();
          const words = error instanceof Error ? error.message : String(error);
          const message = `${this.spec}: ${doing} failed: ${words}`;
          reject(new FieldError({ kind: "unplugged", message, mend: PLUG_IN }));
        },
      );
    });
  }
}
