/**
 * Arrow keys, Home and End move the focus between the rows' links; Enter opens one, since it is a link.
 *
 * @returns how to stop
 */
export function moveBetweenRows(element: HTMLElement): () => void {
  const onKey = (event: KeyboardEvent): void => {
    const links = [...element.querySelectorAll<HTMLElement>('[data-row-link]')];
    const row = event.target instanceof Element ? event.target.closest('[data-site]') : null;
    const at = links.findIndex((link) => row?.contains(link));
    if (at === -1) return;
    const to = { ArrowDown: at + 1, ArrowUp: at - 1, Home: 0, End: links.length - 1 }[event.key];
    const link = to === undefined ? undefined : links[to];
    if (link === undefined) return;
    event.preventDefault();
    link.focus();
  };
  element.addEventListener('keydown', onKey);
  return () => {
    element.removeEventListener('keydown', onKey);
  };
}
