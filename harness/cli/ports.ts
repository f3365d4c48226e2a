/**
 * `tallystroke ports`: what serial ports there are. Harness layer.
 */
import { autoDetect } from "@serialport/bindings-cpp";
import { Command } from "commander";
import { DEVICE_SPECS } from "../devices/open.js";
import type { ExitStatus, Terminal } from "./terminal.js";

/** One port, as far as the system knows it. */
export interface PortFound {
  readonly path: string;
  readonly maker?: string | undefined;
  readonly product?: string | undefined;
  readonly serialNumber?: string | undefined;
}

/** Rejects where the system cannot list its ports. */
export type ListPorts = () => Promise<PortFound[]>;

const HELP = `
Example:
  tallystroke ports --json`;

export function portsVerb(
  terminal: Terminal,
  finish: (status: ExitStatus) => void,
  list: ListPorts = listPorts,
): Command {
  return new Command("ports")
    .description("List the serial ports of this machine.")
    .option("--json", "one object for machines")
    .addHelpText("after", HELP)
    .action(async ({ json }: { readonly json?: boolean }) => {
      let ports: PortFound[] = [];
      let trouble: string | undefined;
      try {
        ports = await list();
      } catch (error) {
        trouble = error instanceof Error ? error.message : String(error);
      }
      if (trouble !== undefined) {
        terminal.talk(
          `The ports cannot be listed: ${trouble}.\n` +
            "Mend: on Linux install udevadm, or name the port yourself: --device serial:PATH\n",
        );
      }
      await terminal.result(json === true ? `${JSON.stringify({ ports }, null, 2)}\n` : inWords(ports));
      finish(trouble === undefined ? 0 : 3);
    });
}

async function listPorts(): Promise<PortFound[]> {
  const found = await autoDetect().list();
  return found.map((port) => ({
    path: port.path,
    maker: port.manufacturer,
    // Where the system has a name for people it stands beside the fields of the published type.
    product: "friendlyName" in port ? String(port.friendlyName) : port.pnpId,
    serialNumber: port.serialNumber,
  }));
}

function inWords(ports: readonly PortFound[]): string {
  const lines = ports.map(({ path, maker, product, serialNumber }) => {
    const known = [maker, product, serialNumber].filter((each) => each !== undefined && each !== "");
    return `serial:${path}${known.length === 0 ? "" : `  ${known.join(", ")}`}`;
  });
  if (lines.length > 0) return `${lines.join("\n")}\n`;
  const others = DEVICE_SPECS.map(([form, meaning]) => `  ${form.padEnd(14)} ${meaning}`);
  return `No serial ports were found. What can be given to --device:\n${others.join("\n")}\n`;
}
