import type {
  NewPartJson,
  PartJson,
  PartReplacementJson,
  PhotoJson,
  PhotoListJson,
} from '@duskline/contract';
import { apiClient } from '../api-client.ts';

const id = encodeURIComponent;

/** What the API is asked about the parts of a site and its pictures. */
export function partClient(siteId: string) {
  const { json, ask } = apiClient();
  const of = `/sites/${id(siteId)}`;
  return {
    add: (part: NewPartJson) => json<PartJson>('POST', `${of}/parts`, part),
    replace: (partId: string, next: PartReplacementJson) =>
      json<PartJson>('POST', `${of}/parts/${id(partId)}/replace`, next),
    remove: (partId: string, removedAt: string) =>
      json<PartJson>('POST', `${of}/parts/${id(partId)}/remove`, { removedAt }),
    photos: async () => (await json<PhotoListJson>('GET', `${of}/photos`)).photos,
    addPhoto: (picture: Blob, about: { readonly partId: string; readonly caption: string }) => {
      const query = new URLSearchParams({ caption: about.caption });
      if (about.partId !== '') query.set('part', about.partId);
      return json<PhotoJson>('POST', `${of}/photos?${query.toString()}`, picture);
    },
    removePhoto: async (photoId: string) =>
      void (await ask('DELETE', `${of}/photos/${id(photoId)}`)),
  };
}

/** Where a picture is fetched. */
export const photoAddress = (siteId: string, photoId: string): string =>
  `/api/v1/sites/${id(siteId)}/photos/${id(photoId)}`;
