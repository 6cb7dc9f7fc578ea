/** What a reader can make of a message's bytes: its text where it is UTF-8, else the bytes in hexadecimal. */
export function payloadText(base64: string): string {
  const bytes = Uint8Array.from(atob(base64), (char) => char.charCodeAt(0));
  try {
    return new TextDecoder('utf-8', { fatal: true }).decode(bytes);
  } catch {
    return [...bytes].map((byte) => byte.toString(16).padStart(2, '0')).join(' ');
  }
}
