import { createReadStream } from 'node:fs';
import { open } from 'node:fs/promises';
import type { Readable } from 'node:stream';
import { createGunzip, createInflateRaw } from 'node:zlib';
import { CardRefused } from './card-refused.ts';
import { zipEntries } from './zip-entries.ts';

/** All the text of one import. */
export const MOST_TEXT_BYTES = 200_000_000;
/** Text out of packed bytes in; logs pack some ten to one. */
const TIGHTEST = 100;
/** A short file may be packed as tightly as it likes. */
const FREE_BYTES = 1_000_000;

/** One text, whether it lay there by itself or in an archive. */
export interface CardText {
  readonly name: string;
  readonly chunks: AsyncIterable<Uint8Array>;
}

/** What may still be unpacked of an import: made once for each pass over its files. */
export interface UnpackBudget {
  left: number;
}
export const newUnpackBudget = (): UnpackBudget => ({ left: MOST_TEXT_BYTES });

/**
 * The texts in a file: itself, what gzip packed, or the members of a zip archive. Read as they are asked for, so that no more is
 * in memory than a chunk. Archives within archives are refused as no text.
 *
 * @param file where it lies, and the name it was brought under
 * @throws CardRefused while it is iterated: bombs, damage, what is no text
 */
export async function* unpackCard(
  file: { readonly path: string; readonly name: string },
  budget: UnpackBudget,
): AsyncGenerator<CardText> {
  const handle = await open(file.path, 'r');
  try {
    const { size } = await handle.stat();
    const { buffer: first, bytesRead } = await handle.read(Buffer.alloc(4), 0, 4, 0);
    const start = bytesRead < 4 ? 0 : first.readUInt32BE(0);
    if (start === 0x504b0304 || start === 0x504b0506) {
      for (const entry of await zipEntries(handle, size)) {
        if (entry.packedBytes === 0) continue;
        const packed = createReadStream(file.path, {
          start: entry.dataOffset,
          end: entry.dataOffset + entry.packedBytes - 1,
        });
        yield {
          name: `${file.name} › ${entry.name}`,
          chunks:
            entry.method === 0
              ? measured(packed, { name: entry.name, packed: Infinity, budget })
              : inflated(packed, createInflateRaw(), {
                  name: entry.name,
                  packed: entry.packedBytes,
                  budget,
                }),
        };
      }
    } else if (start >>> 16 === 0x1f8b) {
      const chunks = inflated(createReadStream(file.path), createGunzip(), {
        name: file.name,
        packed: size,
        budget,
      });
      yield { name: file.name.replace(/\.gz$/i, ''), chunks };
    } else {
      const chunks = measured(createReadStream(file.path), {
        name: file.name,
        packed: Infinity,
        budget,
      });
      yield { name: file.name, chunks };
    }
  } finally {
    await handle.close();
  }
}

interface Measure {
  readonly name: string;
  readonly packed: number;
  readonly budget: UnpackBudget;
}

async function* inflated(
  packed: Readable,
  inflate: Readable & NodeJS.WritableStream,
  measure: Measure,
): AsyncGenerator<Uint8Array> {
  packed.on('error', (error) => inflate.destroy(error));
  packed.pipe(inflate);
  try {
    yield* measured(inflate, measure);
  } catch (cause) {
    if (cause instanceof CardRefused) throw cause;
    throw new CardRefused(
      'card-damaged',
      `“${measure.name}” is cut off or damaged: copy it again from the card.`,
      { cause },
    );
  } finally {
    packed.destroy();
    inflate.destroy();
  }
}

async function* measured(
  stream: Readable,
  { name, packed, budget }: Measure,
): AsyncGenerator<Uint8Array> {
  let out = 0;
  try {
    for await (const chunk of stream as AsyncIterable<Buffer>) {
      if (out === 0) requireText(chunk, name);
      out += chunk.length;
      budget.left -= chunk.length;
      if (out > FREE_BYTES && out > packed * TIGHTEST)
        throw new CardRefused(
          'card-packed-too-tightly',
          `“${name}” unpacks to more than ${TIGHTEST} times its size: no log does. Unpack it yourself and look at it.`,
        );
      if (budget.left < 0)
        throw new CardRefused(
          'card-too-large',
          'The files have more than 200 MB of text: bring them in parts.',
        );
      yield chunk;
    }
  } finally {
    stream.destroy();
  }
}

/** Pictures, programs and archives have bytes in them that no log has. */
function requireText(chunk: Buffer, name: string): void {
  const wide = chunk[0] === 0xff || chunk[0] === 0xfe;
  const head = chunk.subarray(0, 4096);
  const strange = head.filter((byte) => byte < 9 || (byte > 13 && byte < 32)).length;
  // Zero bytes come where the power failed; a whole head of them is an empty piece of a card, and no harm.
  const zeros = head.filter((byte) => byte === 0).length;
  if (!wide && strange - zeros > head.length / 50)
    throw new CardRefused(
      'card-not-text',
      `“${name}” is no text file: bring the log as the node wrote it, or as CSV.`,
    );
}
