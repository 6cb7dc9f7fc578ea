import type { SiteId } from '@duskline/domain';

export type PhotoType = 'image/jpeg' | 'image/png';

export interface NewPhoto {
  readonly siteId: SiteId;
  /** The part it shows; absent: the site. */
  readonly partId?: string;
  readonly type: PhotoType;
  /** At most 2 MiB. */
  readonly bytes: Uint8Array;
  readonly caption: string;
  readonly addedAtMs: number;
  readonly addedBy: string;
}

/** A picture without its bytes. */
export interface KeptPhoto extends Omit<NewPhoto, 'bytes'> {
  readonly id: string;
  readonly byteCount: number;
}

export interface PhotoStore {
  /** The latest first. */
  list(siteId: SiteId): Promise<readonly KeptPhoto[]>;
  /** @returns undefined when the site has `most` pictures already, or the part is not one of the site */
  add(photo: NewPhoto, most: number): Promise<KeptPhoto | undefined>;
  bytes(
    siteId: SiteId,
    id: string,
  ): Promise<{ readonly type: PhotoType; readonly bytes: Uint8Array } | undefined>;
  /** @returns whether it was there */
  remove(siteId: SiteId, id: string): Promise<boolean>;
}
