/**
 * Does a promise reject unseen anywhere in a file of tests? Test support.
 */
import { afterAll, beforeAll, expect } from "vitest";

/** Expects that none does. */
export function expectNoUnseenRejection(): void {
  const rejections: unknown[] = [];
  const note = (reason: unknown): void => {
    rejections.push(reason);
  };
  beforeAll(() => {
    process.on("unhandledRejection", note);
  });
  afterAll(() => {
    process.off("unhandledRejection", note);
    expect(rejections).toEqual([]);
  });
}
