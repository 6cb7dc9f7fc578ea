/**
 * The wheel belongs to the page, until the chart has the focus or Ctrl is held.
 *
 * @param move  by a share of what is in view
 * @param zoom  by a factor, about a place in px from the left
 * @returns stops it
 */
export function wheelZoom(
  element: HTMLElement,
  move: (share: number) => void,
  zoom: (factor: number, px: number) => void,
): () => void {
  const onwheel = (event: WheelEvent): void => {
    if (!event.ctrlKey && document.activeElement !== element) return;
    event.preventDefault();
    if (Math.abs(event.deltaX) > Math.abs(event.deltaY)) move(event.deltaX / 800);
    else zoom(Math.exp(event.deltaY / 400), event.clientX - element.getBoundingClientRect().left);
  };
  element.addEventListener('wheel', onwheel, { passive: false });
  return () => {
    element.removeEventListener('wheel', onwheel);
  };
}
