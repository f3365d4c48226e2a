/**
 * What did this process cost? Told on file descriptor 3 when it ends, as JSON. Bench; loaded before the command.
 */
import { existsSync, readFileSync, writeSync } from "node:fs";

process.on("exit", () => {
  const { user, system } = process.cpuUsage();
  writeSync(3, JSON.stringify({ processorMicros: user + system, peakBytes: peakBytes() }));
});

function peakBytes(): number {
  const status = existsSync("/proc/self/status") ? readFileSync("/proc/self/status", "utf8") : "";
  const [, kilobytes] = /^VmHWM:\s+(\d+) kB$/m.exec(status) ?? [];
  return 1_024 * (kilobytes === undefined ? process.resourceUsage().maxRSS : Number(kilobytes));
}
