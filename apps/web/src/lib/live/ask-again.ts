import { invalidate } from '$app/navigation';
import { navigating } from '$app/state';

/**
 * Asks again for what a page shows. A reader who is on the way to another page arrives there first: SvelteKit takes
 * `invalidate` for the newest wish and would drop the way they have begun, so that a click was lost whenever news came
 * while the next page was fetched.
 *
 * @param key what the page's `load` depends on, as "duskline:fleet".
 */
export async function askAgain(key: `duskline:${string}`): Promise<void> {
  while (navigating.complete !== null)
    // A way that was given up is over as well.
    await navigating.complete.catch(() => undefined);
  await invalidate(key);
}
