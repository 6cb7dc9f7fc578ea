/** Is what the page shows from this device rather than from the server, and from when? */
class LastKnown {
  #sinceMs = $state<number>();

  /** When the oldest answer on show was given; undefined while the server answers. */
  get sinceMs(): number | undefined {
    return this.#sinceMs;
  }

  /** @param keptAtMs  of an answer that just came; undefined when the server itself gave it */
  note(keptAtMs: number | undefined): void {
    this.#sinceMs =
      keptAtMs === undefined ? undefined : Math.min(keptAtMs, this.#sinceMs ?? keptAtMs);
  }
}

export const lastKnown = new LastKnown();
