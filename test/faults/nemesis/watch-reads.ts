/** What a reader of the API saw while things were broken. */
export interface ReadWatch {
  /** Ends it and says what was seen. */
  readonly stop: () => Promise<{
    readonly reads: number;
    readonly answered: number;
    readonly refused: number;
    /** Neither an answer nor 503 with Retry-After, in words. */
    readonly wrong: readonly string[];
    readonly slowestMs: number;
  }>;
}

const PATIENCE_MS = 15_000;

/** Reads the fleet twice a second, as a page does. */
export function watchReads(baseUrl: string, token: string): ReadWatch {
  let [reads, answered, refused, slowestMs] = [0, 0, 0, 0];
  const wrong: string[] = [];
  let over = false;
  const one = async () => {
    const fromMs = Date.now();
    reads += 1;
    try {
      const answer = await fetch(`${baseUrl}/api/v1/fleet`, {
        headers: { authorization: `Bearer ${token}` },
        signal: AbortSignal.timeout(PATIENCE_MS),
      });
      await answer.arrayBuffer();
      if (answer.ok) answered += 1;
      else if (answer.status === 503 && answer.headers.has('retry-after')) refused += 1;
      else wrong.push(`${answer.status}`);
    } catch (cause) {
      wrong.push(String(cause));
    }
    slowestMs = Math.max(slowestMs, Date.now() - fromMs);
  };
  const watching = (async () => {
    while (!over) {
      await one();
      await new Promise((resolve) => setTimeout(resolve, 500));
    }
  })();
  return {
    async stop() {
      over = true;
      await watching;
      return { reads, answered, refused, wrong, slowestMs };
    },
  };
}
