const CENTRAL_ENTRY = 0x02014b50;
const END = 0x06054b50;

/** The names of the files in a zip, by its central directory. @source APPNOTE.TXT 6.3.10 §4.3.12, §4.3.16 */
export function namesInZip(bytes: Buffer): readonly string[] {
  let end = bytes.length - 22;
  while (end >= 0 && bytes.readUInt32LE(end) !== END) end -= 1;
  if (end < 0) throw new Error('This is no zip: it has no end of a central directory.');
  const names: string[] = [];
  let at = bytes.readUInt32LE(end + 16);
  while (at < end && bytes.readUInt32LE(at) === CENTRAL_ENTRY) {
    const nameLength = bytes.readUInt16LE(at + 28);
    names.push(bytes.toString('utf8', at + 46, at + 46 + nameLength));
    at += 46 + nameLength + bytes.readUInt16LE(at + 30) + bytes.readUInt16LE(at + 32);
  }
  return names;
}
