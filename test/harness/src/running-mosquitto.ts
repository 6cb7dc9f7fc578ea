/** How one backend runs a broker whose files lie in a folder. */
export interface RunningMosquitto {
  readonly start: () => Promise<void>;
  readonly signal: (name: 'SIGTERM' | 'SIGKILL' | 'SIGHUP') => Promise<void>;
  readonly takeFile: (name: string) => Promise<void>;
  readonly log: () => Promise<string>;
  readonly remove: () => Promise<void>;
}

export interface BrokerPlaces {
  /** On this machine: `mosquitto.conf`, `acl`, `passwords` and the folder `data`. */
  readonly folder: string;
  /** On 127.0.0.1 of this machine. */
  readonly port: number;
}
