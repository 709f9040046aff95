/* Serves the capture page, what it is made of and its ghost photos when the network is away. Always asks the network first,
   so that nothing shown is older than it need be; every other page and all data go to the network alone. */
const SHELL = 'capture-shell';
const GHOSTS = 'capture-ghosts';

self.addEventListener('install', () => self.skipWaiting());
self.addEventListener('activate', (event) => event.waitUntil(self.clients.claim()));

self.addEventListener('fetch', (event) => {
  const { request } = event;
  const url = new URL(request.url);
  // Signing in or out: nothing of the diary stays readable on a phone that was signed out. Queued shots lie elsewhere and stay.
  if (request.mode === 'navigate' && url.origin === self.location.origin && url.pathname.startsWith('/sign-')) event.waitUntil(forget());
  if (request.method !== 'GET' || url.origin !== self.location.origin) return;
  if (request.mode === 'navigate') {
    if (url.pathname === '/capture') event.respondWith(capturePage(request));
    return;
  }
  if (url.pathname.startsWith('/_next/static/') || /^\/(icon|manifest)/.test(url.pathname)) event.respondWith(networkElse(request, SHELL));
  else if (url.pathname.startsWith('/api/photos/') && url.searchParams.get('width') === '960') event.respondWith(networkElse(request, GHOSTS));
});

function forget() {
  return Promise.all([caches.delete(SHELL), caches.delete(GHOSTS)]);
}

async function networkElse(request, name) {
  try {
    return await fetch(request);
  } catch (error) {
    const kept = await (await caches.open(name)).match(request.url);
    if (kept) return kept;
    throw error;
  }
}

/** The page from the network; the kept one after four seconds of silence. A sign-in page in its place clears what was kept. */
async function capturePage(request) {
  const shell = await caches.open(SHELL);
  const kept = await shell.match('/capture');
  const fresh = fetch(request).then(async (response) => {
    if (response.type === 'opaqueredirect' || response.redirected) await forget();
    else if (response.ok) await shell.put('/capture', response.clone());
    return response;
  });
  if (!kept) return fresh;
  const silence = new Promise((resolve) => setTimeout(() => resolve(kept), 4000));
  return Promise.race([fresh, silence]).catch(() => kept);
}
