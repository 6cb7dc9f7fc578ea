import { error } from '@sveltejs/kit';
import { text } from '$lib/text/en.ts';
import type { PageLoad } from './$types';

export const load: PageLoad = async ({ parent }) => {
  const { session } = await parent();
  if (!session.permissions.includes('change-nodes'))
    error(403, { message: text.failure.notAllowed, code: 'NOT_ALLOWED' });
};
