/**
 * What we use of unitmath, typed: its own declaration file is not a module. Dosing layer.
 */
declare module "unitmath/es/UnitMath.js" {
  export interface Unit<T> {
    /** Powers of the base quantities: mass, length, time, … */
    readonly dimension: readonly number[];
    to(unit: string): Unit<T>;
    getValue(): T;
  }
  export interface Arithmetic<T> {
    readonly clone: (x: T) => T;
    readonly conv: (x: unknown) => T;
    readonly add: (a: T, b: T) => T;
    readonly sub: (a: T, b: T) => T;
    readonly mul: (a: T, b: T) => T;
    readonly div: (a: T, b: T) => T;
    readonly pow: (a: T, b: number) => T;
    readonly eq: (a: T, b: T) => boolean;
    readonly lt: (a: T, b: T) => boolean;
    readonly le: (a: T, b: T) => boolean;
    readonly gt: (a: T, b: T) => boolean;
    readonly ge: (a: T, b: T) => boolean;
    readonly abs: (a: T) => T;
    readonly round: (a: T) => T;
    readonly trunc: (a: T) => T;
  }
  interface UnitFactory {
    <T>(value: T, unit: string): Unit<T>;
    config<T>(options: {
      readonly type: Arithmetic<T>;
      readonly definitions?: { readonly units: { readonly [name: string]: unknown } };
    }): (value: T, unit: string) => Unit<T>;
  }
  const unit: UnitFactory;
  export default unit;
}
