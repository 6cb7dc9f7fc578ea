import type { MetricKey, SiteView } from '@duskline/domain';

/** Entity sets of the sensing part. @source OGC 15-078r6 §8 and 18-088 §8 (SensorThings API) */
export const staSets = [
  'Things',
  'Locations',
  'HistoricalLocations',
  'Datastreams',
  'Sensors',
  'ObservedProperties',
  'Observations',
  'FeaturesOfInterest',
] as const;
export type StaSet = (typeof staSets)[number];

/** One entity: its properties, and what of ours it was made of. */
export interface StaEntity {
  readonly set: StaSet;
  readonly id: string;
  readonly properties: Readonly<Record<string, unknown>>;
  /** Absent for what belongs to no node, such as an ObservedProperty. */
  readonly view?: SiteView;
  readonly metric?: MetricKey;
}

interface StaRelation {
  readonly set: StaSet;
  readonly many: boolean;
}

const one = (set: StaSet): StaRelation => ({ set, many: false });
const many = (set: StaSet): StaRelation => ({ set, many: true });

/** Navigation properties (OGC 15-078r6 §8.2, figure 2). */
const relations: Readonly<Record<StaSet, Readonly<Record<string, StaRelation>>>> = {
  Things: {
    Locations: many('Locations'),
    HistoricalLocations: many('HistoricalLocations'),
    Datastreams: many('Datastreams'),
  },
  Locations: {
    Things: many('Things'),
    HistoricalLocations: many('HistoricalLocations'),
  },
  HistoricalLocations: { Thing: one('Things'), Locations: many('Locations') },
  Datastreams: {
    Thing: one('Things'),
    Sensor: one('Sensors'),
    ObservedProperty: one('ObservedProperties'),
    Observations: many('Observations'),
  },
  Sensors: { Datastreams: many('Datastreams') },
  ObservedProperties: { Datastreams: many('Datastreams') },
  Observations: { Datastream: one('Datastreams'), FeatureOfInterest: one('FeaturesOfInterest') },
  FeaturesOfInterest: { Observations: many('Observations') },
};

export const relationsOf = (set: StaSet): Readonly<Record<string, StaRelation>> => relations[set];

/** The relation of that name, if the set has it. */
export const relationOf = (set: StaSet, name: string): StaRelation | undefined =>
  Object.hasOwn(relations[set], name) ? relations[set][name] : undefined;

export const staSetOf = (text: string): StaSet | undefined => staSets.find((set) => set === text);
