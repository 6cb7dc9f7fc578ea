import { parseSiteId, type FieldNode, type SiteId, type SiteView } from '@duskline/domain';
import Type from 'typebox';
import type { ApiDeps } from '../api-deps.ts';
import { ApiProblem } from '../replies/api-problem.ts';

/** The path parameter of every route below a site. */
export const SiteParamsSchema = Type.Object({
  siteId: Type.String({
    description: 'Short name of the site, as in its address.',
    examples: ['rushy-sluice'],
  }),
});

/** @throws ApiProblem `site-unknown` */
export async function findSite(views: ApiDeps['views'], text: string): Promise<SiteView> {
  const id: SiteId | undefined = parseSiteId(text);
  const view = id === undefined ? undefined : await views.site(id);
  if (view === undefined)
    throw new ApiProblem(
      'site-unknown',
      'There is no site of this name. GET /api/v1/sites lists those there are.',
    );
  return view;
}

/** @throws ApiProblem `site-without-node` */
export function nodeOf({ site, node }: SiteView): FieldNode {
  if (node === undefined)
    throw new ApiProblem(
      'site-without-node',
      `${site.name} has no node yet: make one with POST /api/v1/sites/${site.id}/node.`,
    );
  return node;
}
