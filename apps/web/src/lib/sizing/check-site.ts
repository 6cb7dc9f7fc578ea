import type { SitePageJson, SizingJson, SizingRequestJson } from '@duskline/contract';
import type { apiClient } from '../api-client.ts';
import { ApiProblem } from '../api-problem.ts';
import {
  emptySizing,
  expectedLoadW,
  sizingRequestOf,
  withSite,
  type SizingForm,
} from './sizing-form.ts';

/** What came of holding one site to its worst month. */
export type SiteCheck =
  | { readonly kind: 'sized'; readonly loadW: number; readonly answer: SizingJson }
  | { readonly kind: 'no-node' }
  | { readonly kind: 'no-load' }
  | { readonly kind: 'refused'; readonly reason: string };

type Wish = Pick<SizingForm, 'wishedPercent' | 'criticality'>;

/** The question that holds a site to a wish: its own power system under the load its outlook expects. */
export function siteQuestion(page: SitePageJson, wish: Wish): SizingRequestJson | SiteCheck {
  if (page.power === null) return { kind: 'no-node' };
  if (expectedLoadW(page) === undefined) return { kind: 'no-load' };
  const { wishedPercent, criticality } = wish;
  return sizingRequestOf(withSite({ ...emptySizing(), wishedPercent, criticality }, page));
}

/** Asks the server; a design it cannot size is an answer too. */
export async function checkSite(
  api: Pick<ReturnType<typeof apiClient>, 'site' | 'size'>,
  siteId: string,
  wish: Wish,
): Promise<SiteCheck> {
  const question = siteQuestion(await api.site(siteId), wish);
  if ('kind' in question) return question;
  try {
    return { kind: 'sized', loadW: question.loadW, answer: await api.size(question) };
  } catch (cause) {
    if (cause instanceof ApiProblem && cause.code === 'design-invalid')
      return { kind: 'refused', reason: cause.message };
    throw cause;
  }
}
