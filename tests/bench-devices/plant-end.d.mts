/** The protocol of the stand-in for a meter or a pump; plant-end.mjs tells more. */
export interface PlantEndOptions {
  readonly name: string;
  readonly has: readonly ("meter" | "pump")[];
  readonly register: number;
  readonly last: number;
  readonly fault?: string | undefined;
  readonly at?: number | undefined;
  readonly send: (text: string) => void;
  readonly now: () => number;
  readonly made: (number: number) => void;
  readonly kept: (register: number, last: number) => void;
  readonly isBusy: () => boolean;
  readonly hangUp: () => void;
}

export declare const FAULTS: readonly string[];
export declare function crc(text: string): string;

export declare class PlantEnd {
  constructor(options: PlantEndOptions);
  register: number;
  last: number;
  boot(): void;
  newLine(): void;
  contact(count?: number): void;
  take(piece: string): void;
}
