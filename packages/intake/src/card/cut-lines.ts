import { TextDecoder } from 'node:util';
import { CardRefused } from './card-refused.ts';

/** Longer than any line of a log; a file without line ends is no log. */
export const LONGEST_LINE = 1_000_000;

export interface LineCutter {
  /** The lines that end within these bytes. */
  push(bytes: Uint8Array): readonly string[];
  /** What stands after the last line end, if anything. */
  end(): readonly string[];
}

/**
 * Bytes to lines: UTF-8 or UTF-16 with or without its mark, ended by LF, CR LF or CR. What is no UTF-8 becomes U+FFFD, so that a
 * degree sign of an old code page spoils no line. Zero bytes, which a card has where the power failed, are dropped.
 *
 * @throws CardRefused `card-line-too-long`
 */
export function createLineCutter(): LineCutter {
  let decoder: TextDecoder | undefined;
  let rest = '';

  const cut = (text: string, last: boolean): readonly string[] => {
    const whole = text.includes('\0') ? rest + text.replaceAll('\0', '') : rest + text;
    // A CR at the very end may be half of a CR LF.
    const held = !last && whole.endsWith('\r') ? '\r' : '';
    const body = held === '' ? whole : whole.slice(0, -1);
    const lines = (body.includes('\r') ? body.replace(/\r\n?/g, '\n') : body).split('\n');
    rest = (lines.pop() ?? '') + held;
    if (rest.length > LONGEST_LINE || lines.some((line) => line.length > LONGEST_LINE))
      throw new CardRefused(
        'card-line-too-long',
        'A line is longer than 1 MB: this is not the text file of a log. Look at it in an editor.',
      );
    return lines;
  };

  return {
    push(bytes) {
      decoder ??= new TextDecoder(encodingOf(bytes));
      return cut(decoder.decode(bytes, { stream: true }), false);
    },
    end() {
      const lines = cut(decoder?.decode() ?? '', true);
      const last = rest;
      rest = '';
      return last === '' ? lines : [...lines, last];
    },
  };
}

function encodingOf(bytes: Uint8Array): 'utf-8' | 'utf-16le' | 'utf-16be' {
  if (bytes[0] === 0xff && bytes[1] === 0xfe) return 'utf-16le';
  if (bytes[0] === 0xfe && bytes[1] === 0xff) return 'utf-16be';
  return 'utf-8';
}
