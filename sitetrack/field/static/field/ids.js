// Identifiers: UUID version 7 (RFC 9562, section 5.7), so that ids made later sort later.

/**
 * A UUID version 7 as text.
 * @param {number} ms milliseconds since 1970, by this phone's clock
 * @param {Uint8Array} random at least ten random bytes
 */
export function uuid7(ms, random = crypto.getRandomValues(new Uint8Array(10))) {
  const time = Math.floor(ms).toString(16).padStart(12, "0");
  const bytes = Array.from(random.slice(0, 10));
  bytes[0] = 0x70 | (bytes[0] & 0x0f);
  bytes[2] = 0x80 | (bytes[2] & 0x3f);
  const tail = bytes.map((byte) => byte.toString(16).padStart(2, "0")).join("");
  return `${time.slice(0, 8)}-${time.slice(8)}-${tail.slice(0, 4)}-${tail.slice(4, 8)}-${tail.slice(8)}`;
}
