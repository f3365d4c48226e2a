/**
 * Has any byte of a snapshot changed? CRC-16/IBM-3740. Pacing layer; imports nothing.
 *
 * Polynomial 0x1021, initial value 0xFFFF, not reflected, no final exclusive-or; check value 0x29B1 for the nine
 * digits "123456789" (G. Cook, Catalogue of parametrised CRC algorithms, 16 bits). Bit by bit: a snapshot is
 * short and rare, and a table would cost a small controller half a kilobyte.
 */
export function crc16(bytes: ArrayLike<number>, length: number): number {
  let crc = 0xffff;
  for (let i = 0; i < length; i++) {
    crc ^= (bytes[i] as number) << 8;
    for (let bit = 0; bit < 8; bit++) {
      crc = crc & 0x8000 ? ((crc << 1) ^ 0x1021) & 0xffff : (crc << 1) & 0xffff;
    }
  }
  return crc;
}
