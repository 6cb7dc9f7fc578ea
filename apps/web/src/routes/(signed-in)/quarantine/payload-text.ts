/** Bytes in one line of the hexadecimal view. */
const LINE_BYTES = 16;
/** What is shown of a message; the whole of it is in the API. */
const SHOWN_BYTES = 4096;

const bytesOf = (base64: string): Uint8Array =>
  Uint8Array.from(atob(base64), (char) => char.charCodeAt(0));

/** What a reader can make of a message's bytes: its text where it is UTF-8, else nothing. At most its first 4 KB. */
export function payloadText(base64: string): string | undefined {
  const bytes = bytesOf(base64);
  try {
    const text = new TextDecoder('utf-8', { fatal: true }).decode(bytes);
    const shown = text.length > SHOWN_BYTES ? `${text.slice(0, SHOWN_BYTES)}…` : text;
    // What cannot be seen, or turns the direction of the line, is shown as a box.
    return shown.replace(/[^\P{C}\n\t…]/gu, '\u25a1');
  } catch {
    return undefined;
  }
}

/** The bytes as they are, sixteen in a line: place, hexadecimal, and the letters among them. At most the first 4 KB. */
export function payloadHex(base64: string): string {
  const bytes = bytesOf(base64).subarray(0, SHOWN_BYTES);
  const lines: string[] = [];
  for (let at = 0; at < bytes.length; at += LINE_BYTES) {
    const part = [...bytes.subarray(at, at + LINE_BYTES)];
    const hex = part.map((byte) => byte.toString(16).padStart(2, '0')).join(' ');
    const letters = part
      .map((byte) => (byte >= 0x20 && byte < 0x7f ? String.fromCharCode(byte) : '·'))
      .join('');
    lines.push(
      `${at.toString(16).padStart(4, '0')}  ${hex.padEnd(LINE_BYTES * 3 - 1)}  ${letters}`,
    );
  }
  return lines.join('\n');
}
