/** How the server itself is doing, as text for programs that watch servers. Where it is not given, its route does not exist. */
export interface MetricsPort {
  /** E.g. `text/plain; version=0.0.4; charset=utf-8`. */
  readonly contentType: string;
  read(): Promise<string>;
}
