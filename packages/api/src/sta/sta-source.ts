import {
  metric as entryOf,
  metricKeys,
  metricOf,
  parseNodeName,
  parseSiteId,
  type FieldNode,
  type MetricKey,
  type SiteId,
  type SiteView,
} from '@duskline/domain';
import type { ApiDeps } from '../api-deps.ts';
import { instant } from '../json/instant.ts';
import { relationOf, type StaEntity, type StaSet } from './sta-entity.ts';

/** Everything but Observations, which are read in pages: see sta-observations.ts. */
export interface StaSource {
  all(set: Exclude<StaSet, 'Observations'>): Promise<readonly StaEntity[]>;
  find(set: StaSet, id: string): Promise<StaEntity | undefined>;
  /** What a navigation property leads to; Observations excepted. */
  related(entity: StaEntity, name: string): Promise<readonly StaEntity[]>;
}

type SeenView = SiteView & { readonly node: FieldNode };

/**
 * Draws our fleet in the words of the standard: node = Thing, place = Location and feature of interest, metric =
 * ObservedProperty, what a node measures with = Sensor, node and metric = Datastream. One a request: it remembers what it
 * has read.
 *
 * @param caller.sees which sites the caller may see
 * @param caller.shown a site as the caller may see it
 */
export function createStaSource(
  { views, nodes, latest }: Pick<ApiDeps, 'views' | 'nodes' | 'latest'>,
  {
    sees,
    shown,
  }: { readonly sees: (siteId: SiteId) => boolean; readonly shown: (view: SeenView) => SeenView },
): StaSource {
  let fleet: Promise<readonly SeenView[]> | undefined;
  const metricsRead = new Map<number, Promise<readonly MetricKey[]>>();

  const hasNode = (view: SiteView | undefined): view is SeenView =>
    view?.node !== undefined && sees(view.site.id);
  const everyView = () => (fleet ??= views.fleet().then((all) => all.filter(hasNode).map(shown)));
  const viewOfSite = async (text: string): Promise<SeenView | undefined> => {
    const id = parseSiteId(text);
    const view = id === undefined ? undefined : await views.site(id);
    return hasNode(view) ? shown(view) : undefined;
  };
  const viewOfNode = async (text: string): Promise<SeenView | undefined> => {
    const name = parseNodeName(text);
    const node = name === undefined ? undefined : await nodes.findByName(name);
    const view = node === undefined ? undefined : await viewOfSite(node.siteId);
    return view?.node.name === name ? view : undefined;
  };
  const metricsOf = ({ node }: SeenView): Promise<readonly MetricKey[]> => {
    const known = metricsRead.get(node.id);
    if (known !== undefined) return known;
    const read = latest
      .of(node.id)
      .then((all) => [...new Set(all.map((one) => one.metric))].sort());
    metricsRead.set(node.id, read);
    return read;
  };
  const datastreamsOf = async (seen: readonly SeenView[], only?: MetricKey) =>
    (
      await Promise.all(
        seen.map(async (view) =>
          (await metricsOf(view))
            .filter((key) => only === undefined || key === only)
            .map((key) => datastream(view, key)),
        ),
      )
    ).flat();

  const source: StaSource = {
    async all(set) {
      if (set === 'ObservedProperties') return metricKeys.map(observedProperty);
      if (set === 'Datastreams') return datastreamsOf(await everyView());
      return (await everyView()).map((view) => placeOrThing(set, view));
    },
    async find(set, id) {
      if (set === 'ObservedProperties') {
        const key = metricOf(id);
        return key === undefined ? undefined : observedProperty(key);
      }
      if (set === 'Locations' || set === 'FeaturesOfInterest') {
        const view = await viewOfSite(id);
        return view === undefined ? undefined : placeOrThing(set, view);
      }
      const [name = '', metricText] = id.split(':');
      const view = await viewOfNode(name);
      if (view === undefined) return undefined;
      if (set !== 'Datastreams' && set !== 'Observations')
        return metricText === undefined ? placeOrThing(set, view) : undefined;
      const key = (await metricsOf(view)).find((one) => one === metricText);
      if (key === undefined) return undefined;
      const stream = datastream(view, key);
      return set === 'Observations' || stream.id === id ? stream : undefined;
    },
    async related(entity, name) {
      const to = relationOf(entity.set, name)?.set;
      if (to === undefined || to === 'Observations')
        throw new Error(`createStaSource: ${entity.set} has no ${name} to be read here`);
      const { view, metric: key } = entity;
      if (!hasNode(view)) return datastreamsOf(await everyView(), key);
      if (to === 'Datastreams')
        return key === undefined ? datastreamsOf([view]) : [datastream(view, key)];
      if (to === 'ObservedProperties') return key === undefined ? [] : [observedProperty(key)];
      return [placeOrThing(to, view)];
    },
  };
  return source;
}

function placeOrThing(
  set: Exclude<StaSet, 'Observations' | 'Datastreams' | 'ObservedProperties'>,
  view: SeenView,
): StaEntity {
  const { site, node } = view;
  const place = { name: site.name, description: `The place of ${site.name}` };
  switch (set) {
    case 'Things':
      return {
        set,
        view,
        id: node.name,
        properties: {
          name: node.name,
          description: `The node at ${site.name}`,
          properties: {
            site: site.id,
            commissionedAt: instant(node.commissionedAtMs),
            state: view.verdict?.state ?? null,
          },
        },
      };
    case 'Locations':
      return {
        set,
        view,
        id: site.id,
        properties: { ...place, encodingType: GEO_JSON, location: pointOf(view) },
      };
    case 'FeaturesOfInterest':
      return {
        set,
        view,
        id: site.id,
        properties: { ...place, encodingType: GEO_JSON, feature: pointOf(view) },
      };
    case 'HistoricalLocations':
      return {
        set,
        view,
        id: node.name,
        properties: { time: instant(node.commissionedAtMs) },
      };
    case 'Sensors':
      return {
        set,
        view,
        id: node.name,
        properties: {
          name: `What ${node.name} measures with`,
          description:
            'The node’s own instruments: which part measured which metric it does not say.',
          encodingType: 'text/plain',
          metadata: `The parts of the site: /api/v1/sites/${site.id}/parts`,
        },
      };
  }
}

const GEO_JSON = 'application/geo+json';

/** RFC 7946: longitude first. */
const pointOf = ({ site: { position } }: SeenView) => ({
  type: 'Point',
  coordinates: [position.longitudeDeg, position.latitudeDeg, position.elevationM],
});

function observedProperty(key: MetricKey): StaEntity {
  const { label, cfName } = entryOf(key);
  return {
    set: 'ObservedProperties',
    id: key,
    metric: key,
    properties: {
      name: label,
      description: label,
      // NERC's vocabulary server has an address for each CF standard name (from memory).
      definition:
        cfName === undefined
          ? `urn:duskline:metric:${key}`
          : `http://vocab.nerc.ac.uk/standard_name/${cfName}/`,
    },
  };
}

/** @source OGC 15-078r6 §8.2.4 and table 8-10: a number is an OM_Measurement */
const MEASUREMENT = 'http://www.opengis.net/def/observationType/OGC-OM/2.0/OM_Measurement';

function datastream(view: SeenView, key: MetricKey): StaEntity {
  const { label, unit, ucum, udunits } = entryOf(key);
  return {
    set: 'Datastreams',
    id: `${view.node.name}:${key}`,
    view,
    metric: key,
    properties: {
      name: `${label}, ${view.site.name}`,
      description: `${label} as ${view.node.name} measures it`,
      observationType: MEASUREMENT,
      // §8.2.4: where there is no unit, all three are null.
      unitOfMeasurement: {
        name: udunits ?? null,
        symbol: unit === '' ? null : unit,
        definition: ucum === undefined ? null : `ucum:${ucum}`,
      },
    },
  };
}
