import { NewNodeSchema, NodeSecretSchema } from '@duskline/contract';
import type { BrokerAddressJson, NewNodeJson, NodeSecretJson } from '@duskline/contract';
import { parseNodeName, type NodeName, type PowerSystem } from '@duskline/domain';
import Type from 'typebox';
import type { ApiDeps } from '../api-deps.ts';
import type { Door } from '../door.ts';
import { component } from '../openapi/component-schemas.ts';
import { ApiProblem } from '../replies/api-problem.ts';
import { bodyInstant, rangeProblem } from './body-instant.ts';
import { findSite, SiteParamsSchema } from './find-site.ts';
import { refuseConflict } from './refuse-conflict.ts';

/** The port registered for MQTT with IANA, on the host that was asked. */
const MQTT_HERE: BrokerAddressJson = { scheme: 'mqtt', host: null, port: 1883 };

export function nodeRoutes(app: Door, deps: ApiDeps): void {
  const { views, nodes, now, newNodeSecret, hashSecret, onNodeSecret } = deps;
  const brokerAddress = deps.brokerAddress ?? (() => MQTT_HERE);

  app.post(
    '/api/v1/sites/:siteId/node',
    {
      config: { allow: 'change-nodes' },
      schema: {
        operationId: 'createNode',
        tags: ['setup'],
        summary: 'Put a node at a site',
        description: 'Answers with its secret, this once.',
        params: SiteParamsSchema,
        body: component(NewNodeSchema),
        response: { 201: component(NodeSecretSchema) },
      },
    },
    async (request, reply) => {
      const { site, node: present } = await findSite(views, request.params.siteId);
      if (present !== undefined)
        throw new ApiProblem(
          'site-has-node',
          `${site.name} has the node ${present.name}. A new secret for it: POST /api/v1/nodes/${present.name}/secret.`,
        );
      const name = nodeName(request.body.name);
      const power = powerFrom(request.body, deps.checkBattery);
      if ((await nodes.findByName(name)) !== undefined) throw nodeTaken(name);
      const secret = newNodeSecret();
      const hash = hashSecret(secret);
      const commissionedAtMs = putUpAt(request.body.commissionedAt, now());
      const node = { name, siteId: site.id, power, commissionedAtMs };
      await refuseConflict(() => nodes.create(node, hash), nodeTaken(name));
      await onNodeSecret?.(name, hash);
      reply.code(201).header('cache-control', 'no-store');
      return { node: name, secret, broker: brokerAddress() } satisfies NodeSecretJson;
    },
  );

  app.post(
    '/api/v1/nodes/:name/secret',
    {
      config: { allow: 'change-nodes' },
      schema: {
        operationId: 'renewNodeSecret',
        tags: ['setup'],
        summary: 'A new secret for a node',
        description:
          'The old one opens nothing any more, and a connection made with it is closed. Answers with the new one, this once.',
        params: Type.Object({
          name: Type.String({
            description: 'Name of the node on the wire.',
            examples: ['rushy-sluice-1'],
          }),
        }),
        response: { 200: component(NodeSecretSchema) },
      },
    },
    async (request, reply) => {
      const name = parseNodeName(request.params.name);
      const secret = newNodeSecret();
      const hash = hashSecret(secret);
      if (name === undefined || !(await nodes.setSecretHash(name, hash)))
        throw new ApiProblem('node-unknown', 'There is no node of this name.');
      await onNodeSecret?.(name, hash);
      reply.header('cache-control', 'no-store');
      return { node: name, secret, broker: brokerAddress() } satisfies NodeSecretJson;
    },
  );
}

function nodeName(text: string): NodeName {
  const name = parseNodeName(text);
  if (name === undefined) throw new Error('nodeName: the schema lets no such name through');
  return name;
}

function putUpAt(text: string | undefined, nowMs: number): number {
  const atMs = text === undefined ? nowMs : bodyInstant(text, '/commissionedAt');
  if (atMs > nowMs)
    throw rangeProblem(
      '/commissionedAt',
      'lies in the future: give a time that has passed, or leave it out',
    );
  return atMs;
}

const nodeTaken = (name: NodeName): ApiProblem =>
  new ApiProblem('node-taken', `There is a node called ${name} already: choose another name.`, {
    errors: [{ pointer: '/name', detail: 'is taken' }],
  });

function powerFrom(body: NewNodeJson, checkBattery: ApiDeps['checkBattery']): PowerSystem {
  const { shutDownRatio, restartRatio } = body;
  if (restartRatio <= shutDownRatio)
    throw new ApiProblem(
      'levels-crossed',
      `The restart level ${restartRatio} is not above the shut-down level ${shutDownRatio}: raise it or lower the other.`,
      { errors: [{ pointer: '/restartRatio', detail: `must be above ${shutDownRatio}` }] },
    );
  return {
    panel: {
      ratedW: body.panelW,
      tiltDeg: body.panelTiltDeg,
      azimuthDeg: body.panelAzimuthDeg,
    },
    battery: batteryFrom(body, checkBattery),
    charger: body.charger,
    shutDownRatio,
    restartRatio,
    offStateDrawW: body.offStateDrawW,
    usualGapS: body.usualGapS,
  };
}

function batteryFrom(
  body: NewNodeJson,
  checkBattery: ApiDeps['checkBattery'],
): PowerSystem['battery'] {
  const { batteryChemistry: chemistry, batteryWh: ratedWh, seriesCells, ownBattery } = body;
  if (ownBattery === undefined) return { chemistry, ratedWh, seriesCells };
  const faults = checkBattery?.({ ...ownBattery, like: chemistry, ratedWh, seriesCells }) ?? [];
  if (faults.length > 0)
    throw new ApiProblem('design-invalid', 'This battery cannot be reckoned with as it is given.', {
      errors: faults.map(({ where, what, mend }) => ({
        pointer: `/ownBattery/${where.replaceAll(/[.[]/g, '/').replaceAll(']', '')}`,
        detail: `${what} ${mend}`,
      })),
    });
  const { makerAllowsFreezingCharge: _, ...custom } = ownBattery;
  return { chemistry, ratedWh, seriesCells, custom };
}
