import { PhotoListSchema, PhotoSchema, type PhotoJson } from '@duskline/contract';
import Type from 'typebox';
import { principalOf } from '../access/guard-routes.ts';
import type { ApiDeps } from '../api-deps.ts';
import type { Door } from '../door.ts';
import { instant } from '../json/instant.ts';
import { component } from '../openapi/component-schemas.ts';
import type { KeptPhoto, PhotoPort } from '../photo-port.ts';
import { barePicture } from '../photos/bare-picture.ts';
import { ApiProblem } from '../replies/api-problem.ts';
import { findSite, SiteParamsSchema } from './find-site.ts';

/** As the page makes them: 1600 px wide, some hundred kilobytes. */
const MOST_BYTES = 2 * 1024 * 1024;
const MOST_PHOTOS = 40;
/** Opened by itself it can do nothing, whatever a browser takes it for. */
const PICTURE_POLICY = "default-src 'none'; sandbox; frame-ancestors 'none'";

const PhotoParamsSchema = Type.Object({
  siteId: SiteParamsSchema.properties.siteId,
  photoId: Type.String({ pattern: '^[0-9]{1,15}$', description: 'Id of the picture.' }),
});
type FoundPorts = ApiDeps & { readonly photos: PhotoPort };

/** Pictures show the place and what stands there: for those who go there. */
export async function photoRoutes(door: Door, deps: ApiDeps): Promise<void> {
  const { photos } = deps;
  if (photos === undefined) return;
  await door.register(async (scope) => {
    const app = scope as unknown as Door;
    // Of these routes only: nowhere else are pictures taken.
    app.addContentTypeParser(
      ['image/jpeg', 'image/png'],
      { parseAs: 'buffer', bodyLimit: MOST_BYTES },
      (_request, body, done) => done(null, body),
    );
    lookAtPhotos(app, { ...deps, photos });
    changePhotos(app, { ...deps, photos });
  });
}

function lookAtPhotos(app: Door, { views, photos }: FoundPorts): void {
  app.get(
    '/api/v1/sites/:siteId/photos',
    {
      config: { allow: 'handle-alerts' },
      schema: {
        operationId: 'photos',
        tags: ['parts'],
        summary: 'Pictures of a site and its parts, the latest first',
        params: SiteParamsSchema,
        response: { 200: component(PhotoListSchema) },
      },
    },
    async (request) => {
      const { site } = await findSite(views, request.params.siteId);
      return { photos: (await photos.list(site.id)).map(photoJson) };
    },
  );

  app.get(
    '/api/v1/sites/:siteId/photos/:photoId',
    {
      config: { allow: 'handle-alerts' },
      schema: {
        operationId: 'photo',
        tags: ['parts'],
        summary: 'A picture',
        params: PhotoParamsSchema,
        response: {
          200: {
            description: 'Its bytes.',
            content: {
              'image/jpeg': { schema: { type: 'string', format: 'binary' } },
              'image/png': { schema: { type: 'string', format: 'binary' } },
            },
          },
        },
      },
    },
    async (request, reply) => {
      const { site } = await findSite(views, request.params.siteId);
      const found = await photos.bytes(site.id, request.params.photoId);
      if (found === undefined) throw unknown();
      reply.headers({
        'content-type': found.type,
        'content-disposition': 'inline',
        'content-security-policy': PICTURE_POLICY,
        'cross-origin-resource-policy': 'same-origin',
        // A picture never changes; whoever may see it may keep it.
        'cache-control': 'private, max-age=86400, immutable',
      });
      return reply.send(Buffer.from(found.bytes) as never);
    },
  );
}

function changePhotos(app: Door, { views, photos, now }: FoundPorts): void {
  app.post(
    '/api/v1/sites/:siteId/photos',
    {
      config: { allow: 'handle-alerts' },
      bodyLimit: MOST_BYTES,
      schema: {
        operationId: 'addPhoto',
        tags: ['parts'],
        summary: 'Add a picture',
        description:
          'The bytes of a JPEG or PNG, at most 2 MiB, as image/jpeg or image/png. Where and when it was taken is taken out before it is kept.',
        params: SiteParamsSchema,
        querystring: Type.Object(
          {
            part: Type.Optional(
              Type.String({ pattern: '^[0-9]{1,15}$', description: 'The part it shows.' }),
            ),
            caption: Type.Optional(Type.String({ maxLength: 200 })),
          },
          { additionalProperties: false },
        ),
        response: { 201: component(PhotoSchema) },
      },
    },
    async (request, reply) => {
      const { site } = await findSite(views, request.params.siteId);
      const picture = Buffer.isBuffer(request.body) ? barePicture(request.body) : undefined;
      if (picture === undefined)
        throw new ApiProblem(
          'picture-refused',
          'Send a whole JPEG or PNG, with the header Content-Type: image/jpeg or image/png.',
        );
      const { part, caption = '' } = request.query;
      const kept = await photos.add(
        {
          siteId: site.id,
          ...(part === undefined ? {} : { partId: part }),
          ...picture,
          caption: caption.trim(),
          addedAtMs: now(),
          addedBy: principalOf(request).account.name,
        },
        MOST_PHOTOS,
      );
      if (kept === undefined)
        throw new ApiProblem(
          'picture-not-kept',
          `A site keeps ${MOST_PHOTOS} pictures, of itself and of its own parts: take one away first.`,
        );
      reply.code(201);
      return photoJson(kept);
    },
  );

  app.delete(
    '/api/v1/sites/:siteId/photos/:photoId',
    {
      config: { allow: 'change-nodes' },
      schema: {
        operationId: 'removePhoto',
        tags: ['parts'],
        summary: 'Take a picture away',
        params: PhotoParamsSchema,
        response: { 204: Type.Null({ description: 'It is gone.' }) },
      },
    },
    async (request, reply) => {
      const { site } = await findSite(views, request.params.siteId);
      if (!(await photos.remove(site.id, request.params.photoId))) throw unknown();
      reply.code(204);
      return null;
    },
  );
}

const unknown = (): ApiProblem =>
  new ApiProblem('picture-unknown', 'There is no such picture of this site.');

const photoJson = (photo: KeptPhoto): PhotoJson => ({
  id: photo.id,
  partId: photo.partId ?? null,
  caption: photo.caption,
  byteCount: photo.byteCount,
  addedAt: instant(photo.addedAtMs),
  addedBy: photo.addedBy,
});
