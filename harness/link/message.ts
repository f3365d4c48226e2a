/**
 * What do the two ends of the link say to each other, as data and as the text of a line? Harness layer.
 *
 * Formatting and parsing are inverse; parsing never throws.
 */
export * from "./message-kinds.js";
export { formatRequest, parseRequest } from "./message-request.js";
export { formatDeviceLine, parseDeviceLine, wireWords } from "./message-device.js";
