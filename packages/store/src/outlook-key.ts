/** Which outlook of a node. */
export interface OutlookKey {
  readonly issuedAtMs: number;
  readonly hindcast: boolean;
}
