import type { NodeId, NodeName, SettingsInForce, SettingsRequest } from '@duskline/domain';

/** A request with its story. */
export interface KeptSettingsRequest {
  readonly request: SettingsRequest;
  readonly askedAtMs: number;
  readonly askedBy: string;
  /** When the node first said that it had taken it, or refused it. */
  readonly answeredAtMs?: number;
  readonly refusal?: string;
}

export interface SettingsRequestStore {
  ask(nodeId: NodeId, kept: Omit<KeptSettingsRequest, 'answeredAtMs' | 'refusal'>): Promise<void>;
  /** The latest first. */
  list(nodeId: NodeId, limit: number): Promise<readonly KeptSettingsRequest[]>;
  inForce(
    nodeId: NodeId,
  ): Promise<{ readonly settings: SettingsInForce; readonly saidAtMs: number } | undefined>;
  /**
   * Keeps what a node says it does. Safe to repeat; what was said earlier never overwrites what was said later.
   *
   * @returns whether something became known by it that was not known before; undefined when there is no such node
   */
  confirm(
    name: NodeName,
    settings: SettingsInForce,
    saidAtMs: number,
  ): Promise<{ readonly nodeId: NodeId; readonly isNews: boolean } | undefined>;
  /** The latest request of every node in service: what a broker that forgot has to be told again. */
  newest(): Promise<readonly { readonly name: NodeName; readonly request: SettingsRequest }[]>;
}
