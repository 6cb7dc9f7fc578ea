import type { MessageFault, MessagePlace, NodeName, Packet } from '@duskline/domain';

/** What could not be accepted, to be kept whole. */
export interface Rejected {
  readonly packet: Packet;
  /** Absent when the topic names none. */
  readonly node?: NodeName;
  readonly fault: MessageFault;
  /** Where it stands in its node's life, if that can be read: this number counts as settled once it is kept. */
  readonly place?: MessagePlace;
}
