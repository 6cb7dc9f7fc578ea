/** The words of bringing up a node. */
export const proofText = {
  title: 'Is it proved?',
  sentence: (site: string, proved: boolean) =>
    proved ? `${site} is proved: you may climb down.` : `${site} has still to show some things.`,
  waitingForIt: 'This list follows what the node sends. Leave it open while you work.',
  names: {
    message: 'First message',
    harvest: 'First harvest',
    clock: 'Clock',
    signal: 'Signal',
    sensors: 'Sensors',
    offStateDraw: 'Off-state draw',
  },
  verdicts: {
    proved: 'shown',
    waiting: 'not yet',
    wrong: 'look at this',
    untold: 'it does not say',
  },
  message: {
    waiting: 'Nothing was heard yet. Switch it on; its first message appears here by itself.',
    proved: (age: string) => (age === 'now' ? 'Heard now.' : `Heard ${age} ago.`),
  },
  harvest: {
    waiting: 'No harvest was seen yet. In daylight, look at panel lead, fuse and charger.',
    proved: (power: string) => `The panel gives ${power}.`,
    seen: (energy: string) => `It harvested ${energy} in a day.`,
  },
  clock: {
    waiting: 'Waits for its first reading.',
    proved: 'Its readings are dated as they came.',
    wrong: (off: string) =>
      `It is ${off} off. Set its clock, or log uptime so that dates can be mended.`,
  },
  signal: {
    waiting: 'Waits for its first reading.',
    untold: 'It reports no signal strength; nothing here can judge its link. Watch it for an hour.',
    proved: (signal: string) => `Received at ${signal}.`,
    wrong: (signal: string) => `Only ${signal}: move or raise the antenna while you are here.`,
  },
  sensors: {
    waiting: 'Waits for its first reading.',
    proved: (count: number) =>
      `${count === 1 ? 'One quantity' : `All ${count} quantities`} within what can be.`,
    wrong: (list: string) => `Beyond what can be: ${list}. Look at wiring, unit and column.`,
    noBattery: 'It sends neither battery voltage nor charge: there can be no outlook.',
  },
  offStateDraw: {
    proved: (draw: string) =>
      `${draw}, as entered. Measure it once: it decides when a dark node returns.`,
    wrong: 'Nothing was entered. Measure what it draws while shut down, and enter it.',
  },
  qr: 'To scan: node, secret and broker. Whoever scans it can publish as this node.',
  qrLabel: 'A square code that holds the node’s name, its secret and its broker',
  download: 'Save the settings file',
  open: 'Open the site',
} as const;
