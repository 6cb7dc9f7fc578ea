import { BlockList, isIP } from 'node:net';

/**
 * Networks that nobody outside reaches, and that a server must not be talked into asking: IANA special-purpose registries
 * (RFC 6890 and updates).
 */
const inside = new BlockList();
for (const [network, prefix] of [
  ['0.0.0.0', 8],
  ['10.0.0.0', 8],
  ['100.64.0.0', 10],
  ['127.0.0.0', 8],
  ['169.254.0.0', 16],
  ['172.16.0.0', 12],
  ['192.0.0.0', 24],
  ['192.0.2.0', 24],
  ['192.88.99.0', 24],
  ['192.168.0.0', 16],
  ['198.18.0.0', 15],
  ['198.51.100.0', 24],
  ['203.0.113.0', 24],
  ['224.0.0.0', 4],
  ['240.0.0.0', 4],
] as const)
  inside.addSubnet(network, prefix, 'ipv4');
for (const [network, prefix] of [
  ['::', 96],
  ['64:ff9b::', 96],
  ['64:ff9b:1::', 48],
  ['100::', 64],
  ['2001::', 23],
  ['2001:db8::', 32],
  ['2002::', 16],
  ['fc00::', 7],
  ['fe80::', 10],
  ['fec0::', 10],
  ['ff00::', 8],
] as const)
  inside.addSubnet(network, prefix, 'ipv6');

/** Must this address not be asked? An IPv4 address dressed as IPv6 is judged as what it is; what is no address is refused. */
export function isPrivateAddress(address: string): boolean {
  const family = isIP(address);
  if (family === 0) return true;
  if (family === 4) return inside.check(address, 'ipv4');
  // The check of Node looks through ::ffff:0:0/96 itself only for rules of IPv4: both are asked.
  return inside.check(address, 'ipv6') || /^::ffff:/i.test(address);
}
