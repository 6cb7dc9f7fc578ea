import { tick } from 'svelte';

/** The place a key goes to, from the place in focus and the last one. */
const steps: Readonly<Record<string, (at: number, last: number) => number>> = {
  ArrowDown: (at) => at + 1,
  ArrowUp: (at) => at - 1,
  Home: () => 0,
  End: (_at, last) => last,
};

/**
 * Arrow keys, Home and End move the focus between the rows' links; Enter opens one, since it is a link.
 *
 * @param reveal  draws the row at a place in the whole table, if it is not drawn; false when there is none
 * @returns how to stop
 */
export const moveBetweenRows =
  (reveal: (place: number) => boolean, last: () => number) =>
  (element: HTMLElement): (() => void) => {
    const onKey = (event: KeyboardEvent): void => {
      const row = event.target instanceof Element ? event.target.closest('[aria-rowindex]') : null;
      const step = steps[event.key];
      if (row === null || step === undefined || !row.matches('[data-site]')) return;
      // Row 1 is the head.
      const place = step(Number(row.getAttribute('aria-rowindex')) - 2, last());
      if (!reveal(place)) return;
      event.preventDefault();
      void tick().then(() => {
        element
          .querySelector<HTMLElement>(`[aria-rowindex="${place + 2}"] [data-row-link]`)
          ?.focus();
      });
    };
    element.addEventListener('keydown', onKey);
    return () => {
      element.removeEventListener('keydown', onKey);
    };
  };
