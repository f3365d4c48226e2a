/**
 * A raw TCP serial server as a transport. Harness layer.
 */
import { connect } from "node:net";
import type { Transport } from "../link/transport.js";
import { PortEars, withDeadline } from "./port.js";

/** Opens a connection; rejects with a TransportError. */
export async function openTcp(host: string, port: number): Promise<Transport> {
  const name = `tcp:${host}:${port}`;
  const ears = new PortEars();
  const socket = connect({ host, port, noDelay: true });
  socket.on("data", (bytes) => {
    ears.hear(bytes);
  });
  socket.on("close", () => {
    ears.gone("the other side closed the connection");
  });
  const mend = (): string => "check that the server runs, its address and its port";
  try {
    await withDeadline(`connecting to ${host}:${port}`, mend, (done) => {
      socket.once("connect", () => {
        done();
      });
      socket.on("error", (error) => {
        ears.gone(error.message);
        done(error);
      });
    });
  } catch (error) {
    socket.destroy();
    throw error;
  }
  return {
    name,
    onBytes: ears.onBytes,
    onGone: ears.onGone,
    async send(bytes) {
      ears.check(name);
      await withDeadline(`writing to ${name}`, mend, (done) => {
        socket.write(bytes, done);
      });
    },
    close() {
      ears.close();
      // What was written last still leaves; what does not leave in time is let go.
      socket.end();
      socket.setTimeout(1_000, () => socket.destroy());
      return Promise.resolve();
    },
  };
}
