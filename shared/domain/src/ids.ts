/**
 * Identities. Brands keep a site's id from being handed where a node's belongs; the checks here are the only way in.
 */
declare const brand: unique symbol;
type Branded<T, B extends string> = T & { readonly [brand]: B };

/** The number a node has inside the store: it leads every hot key, so it is short. */
export type NodeId = Branded<number, 'NodeId'>;
/** The name a node has on the wire, `[a-z0-9-]{3,40}`: also its MQTT user name and client id. */
export type NodeName = Branded<string, 'NodeName'>;
/** The short name a site has in addresses, `[a-z0-9-]{2,60}`. */
export type SiteId = Branded<string, 'SiteId'>;
export type AlertId = Branded<string, 'AlertId'>;
export type AccountId = Branded<string, 'AccountId'>;

const NODE_NAME = /^[a-z0-9-]{3,40}$/;
const SITE_ID = /^[a-z0-9][a-z0-9-]{1,59}$/;

/** The node name in `text`, or undefined when it is not one. */
export function parseNodeName(text: string): NodeName | undefined {
  return NODE_NAME.test(text) ? (text as NodeName) : undefined;
}

/** The site id in `text`, or undefined when it is not one. */
export function parseSiteId(text: string): SiteId | undefined {
  return SITE_ID.test(text) ? (text as SiteId) : undefined;
}

export const nodeId = (value: number): NodeId => value as NodeId;
export const alertId = (value: string): AlertId => value as AlertId;
export const accountId = (value: string): AccountId => value as AccountId;
