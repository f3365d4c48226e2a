/**
 * Which settings can a device be given? Their names on the link and in the core are the same. Harness layer.
 */
import { SETTING_NAMES as ALL_NAMES } from "../../lib/trace/detail.js";

/** In the order of LINK.md, section 5. What a stroke's volume rests on is no business of the device. */
export const SETTING_NAMES = ALL_NAMES.filter((name) => name !== "strokeBasis");
