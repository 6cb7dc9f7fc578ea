import { LandOwnerSchema } from '@duskline/contract';
import type { ApiDeps } from '../api-deps.ts';
import type { Door } from '../door.ts';
import { component } from '../openapi/component-schemas.ts';
import { findSite, SiteParamsSchema } from './find-site.ts';
import { writeDown } from './write-down.ts';

/** Whom to call before anybody drives to a site. Whoever goes there may write it down: they talk with the land-owner. */
export function landOwnerRoutes(app: Door, { views, sites, watch, now }: ApiDeps): void {
  app.put(
    '/api/v1/sites/:siteId/land-owner',
    {
      config: { allow: 'handle-alerts' },
      schema: {
        operationId: 'setLandOwner',
        tags: ['setup'],
        summary: 'Write down whom to call before anybody drives to a site',
        description:
          'It stands on the field sheet and beside alerts, for those who go there only. Name and phone empty: nobody any more.',
        params: SiteParamsSchema,
        body: component(LandOwnerSchema),
        response: { 200: component(LandOwnerSchema) },
      },
    },
    async (request) => {
      const { site } = await findSite(views, request.params.siteId);
      const owner = { name: request.body.name.trim(), phone: request.body.phone.trim() };
      await sites.setLandOwner(
        site.id,
        owner.name === '' && owner.phone === '' ? undefined : owner,
      );
      if (watch !== undefined)
        await writeDown({ watch, now }, request, {
          kind: 'land-owner',
          subject: site.id,
          before: site.landOwner,
          after: owner,
        });
      return owner;
    },
  );
}
