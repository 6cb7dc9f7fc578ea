import type { SiteId } from '@duskline/domain';

export type PhotoType = 'image/jpeg' | 'image/png';

export interface KeptPhoto {
  readonly id: string;
  readonly siteId: SiteId;
  readonly partId?: string;
  readonly type: PhotoType;
  readonly byteCount: number;
  readonly caption: string;
  readonly addedAtMs: number;
  readonly addedBy: string;
}

/** Pictures of sites and parts. */
export interface PhotoPort {
  /** The latest first. */
  list(siteId: SiteId): Promise<readonly KeptPhoto[]>;
  /** Undefined: the site has `most` already, or the part is not one of it. */
  add(
    photo: Omit<KeptPhoto, 'id' | 'byteCount'> & { readonly bytes: Uint8Array },
    most: number,
  ): Promise<KeptPhoto | undefined>;
  bytes(
    siteId: SiteId,
    id: string,
  ): Promise<{ readonly type: PhotoType; readonly bytes: Uint8Array } | undefined>;
  remove(siteId: SiteId, id: string): Promise<boolean>;
}
