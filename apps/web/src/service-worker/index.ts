import { build, files, version } from '$service-worker';
import {
  isKept,
  KEPT_AT_HEADER,
  KEPT_CACHE,
  MOST_KEPT,
  WAIT_MS,
} from '../lib/offline/kept-answers.ts';
import { leadsTo, readPush } from '../lib/offline/read-push.ts';

/**
 * The app without coverage: its files from this device, and the last answer to each question as it was, marked with when
 * it was given. What the network says always goes first.
 */
const worker = globalThis as unknown as ServiceWorkerGlobalScope;
const SHELL_CACHE = `duskline-shell-${version}`;
const SHELL = '/';
const shellFiles = new Set([...build, ...files]);

worker.addEventListener('install', (event) => {
  event.waitUntil(fillShell().then(() => worker.skipWaiting()));
});
worker.addEventListener('activate', (event) => {
  event.waitUntil(dropOldShells().then(() => worker.clients.claim()));
});
worker.addEventListener('fetch', (event) => {
  const { request } = event;
  const url = new URL(request.url);
  if (url.origin !== worker.location.origin) return;
  if (url.pathname === '/api/v1/session' && request.method !== 'GET') {
    // Another person may come: nothing of the last one stays on this device.
    event.respondWith(fetch(request).finally(() => caches.delete(KEPT_CACHE)));
    return;
  }
  if (request.method !== 'GET') return;
  if (request.mode === 'navigate') event.respondWith(page(request));
  else if (shellFiles.has(url.pathname)) event.respondWith(shellFile(request));
  else if (isKept(url.pathname)) event.respondWith(answer(event, request));
});

worker.addEventListener('push', (event) => {
  const { title, body, tag, path } = readPush(event.data?.text());
  // A message that comes twice has the same key, and replaces the first.
  event.waitUntil(
    worker.registration.showNotification(title, {
      body,
      tag,
      data: path,
      icon: '/icon-192.png',
      requireInteraction: true,
    }),
  );
});
worker.addEventListener('notificationclick', (event) => {
  event.notification.close();
  event.waitUntil(openAt(leadsTo(event.notification.data, worker.location.origin)));
});

/** In a window that is open already, if there is one. */
async function openAt(url: string): Promise<void> {
  const [open] = await worker.clients.matchAll({ type: 'window', includeUncontrolled: true });
  if (open === undefined) {
    await worker.clients.openWindow(url);
    return;
  }
  await open.focus();
  await open.navigate(url).catch(() => worker.clients.openWindow(url));
}

async function fillShell(): Promise<void> {
  const cache = await caches.open(SHELL_CACHE);
  await cache.addAll([SHELL, ...shellFiles]);
}

async function dropOldShells(): Promise<void> {
  const names = await caches.keys();
  const old = names.filter((name) => name !== SHELL_CACHE && name !== KEPT_CACHE);
  await Promise.all(old.map((name) => caches.delete(name)));
}

async function page(request: Request): Promise<Response> {
  try {
    return await fetch(request);
  } catch (cause) {
    const shell = await caches.match(SHELL);
    if (shell === undefined) throw cause;
    return shell;
  }
}

async function shellFile(request: Request): Promise<Response> {
  return (await caches.match(request)) ?? (await fetch(request));
}

/** What the network says within a while; else what it said last, if it ever did. */
async function answer(event: FetchEvent, request: Request): Promise<Response> {
  const cache = await caches.open(KEPT_CACHE);
  const fresh = fetch(request).then(async (response) => {
    if (response.status === 401) await caches.delete(KEPT_CACHE);
    else if (response.ok) event.waitUntil(keep(cache, request, response.clone()));
    return response;
  });
  const kept = await cache.match(request);
  if (kept === undefined) return fresh;
  let timer: ReturnType<typeof setTimeout> | undefined;
  const waited = new Promise<Response>((resolve) => {
    timer = setTimeout(() => {
      resolve(kept);
    }, WAIT_MS);
  });
  try {
    return await Promise.race([fresh, waited]);
  } catch {
    return kept;
  } finally {
    clearTimeout(timer);
  }
}

async function keep(cache: Cache, request: Request, response: Response): Promise<void> {
  const headers = new Headers(response.headers);
  headers.set(KEPT_AT_HEADER, String(Date.now()));
  // The body here is no longer packed, whatever the wire said.
  headers.delete('content-encoding');
  headers.delete('content-length');
  await cache.put(request, new Response(response.body, { status: 200, headers }));
  const all = await cache.keys();
  const surplus = all.slice(0, Math.max(0, all.length - MOST_KEPT));
  await Promise.all(surplus.map((old) => cache.delete(old)));
}
