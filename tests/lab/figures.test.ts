/**
 * README's pictures are what their script makes.
 */
import { execFileSync } from "node:child_process";
import { mkdtempSync, readdirSync, readFileSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { expect, test } from "vitest";
import { shipped } from "../../harness/files/package-root.js";

function picturesIn(folder: string): { [file: string]: string } {
  return Object.fromEntries(
    readdirSync(folder).map((file) => [file, readFileSync(join(folder, file), "utf8")]),
  );
}

test("npm run figures makes the pictures that stand in the repository, byte for byte", () => {
  const folder = mkdtempSync(join(tmpdir(), "figures-"));
  try {
    execFileSync("npm", ["run", "--silent", "figures", "--", folder], { cwd: shipped("."), timeout: 60_000 });
    expect(picturesIn(folder)).toEqual(picturesIn(shipped("harness/lab/figures")));
  } finally {
    rmSync(folder, { recursive: true });
  }
});

test("a picture says what it shows, and that it is simulated", () => {
  for (const [file, text] of Object.entries(picturesIn(shipped("harness/lab/figures")))) {
    expect([file, text]).toEqual([
      file,
      expect.stringMatching(/<title>[^<]*Simulated, invented flow\.<\/title>/),
    ]);
    expect(text).not.toMatch(/var\(--|<script|NaN|undefined|href=/);
  }
});
