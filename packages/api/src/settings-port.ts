import type {
  Account,
  FieldNode,
  NodeId,
  SettingsInForce,
  SettingsRequest,
} from '@duskline/domain';

/** What a node was asked, the latest first, and what it says it does. */
export interface SettingsStory {
  readonly inForce?: { readonly settings: SettingsInForce; readonly saidAtMs: number };
  readonly requests: readonly {
    readonly request: SettingsRequest;
    readonly askedAtMs: number;
    readonly askedBy: string;
    readonly answeredAtMs?: number;
    readonly refusal?: string;
  }[];
}

export interface SettingsPort {
  story(nodeId: NodeId): Promise<SettingsStory>;
  /** Keeps the request and sends it on its way. */
  ask(node: FieldNode, request: SettingsRequest, by: Account): Promise<void>;
}
