/** Enough to read a plate, small enough for a thin link. */
const WIDEST_PX = 1600;
const QUALITY = 0.82;

/**
 * A camera's picture as it is sent: at most 1600 px wide or high, JPEG, and without where it was taken: drawing it anew leaves
 * everything but the picture behind.
 *
 * @throws Error when the browser cannot read it
 */
export async function shrinkPicture(file: Blob): Promise<Blob> {
  const picture = await createImageBitmap(file);
  const scale = Math.min(1, WIDEST_PX / Math.max(picture.width, picture.height));
  const canvas = new OffscreenCanvas(
    Math.round(picture.width * scale),
    Math.round(picture.height * scale),
  );
  const paper = canvas.getContext('2d');
  if (paper === null) throw new Error('This browser cannot draw pictures.');
  paper.drawImage(picture, 0, 0, canvas.width, canvas.height);
  picture.close();
  return await canvas.convertToBlob({ type: 'image/jpeg', quality: QUALITY });
}
