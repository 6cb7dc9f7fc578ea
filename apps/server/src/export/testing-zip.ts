import { buffer } from 'node:stream/consumers';
import { fromBuffer, type ZipFile, type Entry } from 'yauzl';

/** The files of a zip, by a reader that is not the one who wrote it. */
export async function readZip(bytes: Buffer): Promise<ReadonlyMap<string, Buffer>> {
  const zip = await new Promise<ZipFile>((resolve, reject) =>
    fromBuffer(bytes, { lazyEntries: true }, (error, made) =>
      error ? reject(error) : resolve(made),
    ),
  );
  const files = new Map<string, Buffer>();
  return await new Promise((resolve, reject) => {
    zip.on('error', reject);
    zip.on('end', () => resolve(files));
    zip.on('entry', (entry: Entry) => {
      zip.openReadStream(entry, (error, stream) => {
        if (error) return reject(error);
        buffer(stream)
          .then((content) => {
            files.set(entry.fileName, content);
            zip.readEntry();
          })
          .catch(reject);
      });
    });
    zip.readEntry();
  });
}
