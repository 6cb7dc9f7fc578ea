import type { NewChannelJson } from '@duskline/contract';

/** What this browser can do about pushes: `absent` needs another browser or https, `refused` a change of its own settings. */
export type PushHere = 'absent' | 'refused' | 'off' | 'on';

export async function pushHere(): Promise<PushHere> {
  if (!('serviceWorker' in navigator) || !('PushManager' in globalThis) || !isSecureContext)
    return 'absent';
  if (Notification.permission === 'denied') return 'refused';
  return (await subscription()) === null ? 'off' : 'on';
}

/**
 * Asks this browser's push service for an address to send to.
 *
 * @param serverKey the server's public key, base64url
 * @returns undefined when whoever was asked said no
 */
export async function turnPushOn(serverKey: string): Promise<NewChannelJson | undefined> {
  if ((await Notification.requestPermission()) !== 'granted') return undefined;
  const { pushManager } = await navigator.serviceWorker.ready;
  // One of another server key would be worth nothing.
  await (await pushManager.getSubscription())?.unsubscribe();
  const made = await pushManager.subscribe({
    userVisibleOnly: true,
    applicationServerKey: serverKey,
  });
  const { endpoint, keys } = made.toJSON();
  if (endpoint === undefined || keys?.p256dh === undefined || keys.auth === undefined)
    throw new Error('The browser gave no address.');
  return { kind: 'push', address: endpoint, keys: { p256dh: keys.p256dh, auth: keys.auth } };
}

export async function turnPushOff(): Promise<void> {
  await (await subscription())?.unsubscribe();
}

async function subscription(): Promise<PushSubscription | null> {
  const registration = await navigator.serviceWorker.getRegistration();
  return (await registration?.pushManager.getSubscription()) ?? null;
}
