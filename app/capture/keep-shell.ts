/**
 * Makes the capture page open without a network: its worker is registered, and this page, what it is made of and the
 * ghost photos are kept. Nothing else of the diary is. An address that isn't secure has no such store: then this does
 * nothing.
 */
export async function keepShell(ghosts: readonly string[]): Promise<void> {
  if (!('serviceWorker' in navigator) || !('caches' in globalThis)) return;
  await navigator.serviceWorker.register('/sw.js');
  await navigator.storage?.persist?.().catch(() => false);
  const page = await fetch('/capture', { cache: 'no-store' });
  // A redirect means the door is shut: its page must not stand in for this one.
  if (!page.ok || page.redirected) return;
  const parts = performance
    .getEntriesByType('resource')
    .map((entry) => new URL(entry.name))
    .filter(
      (url) =>
        url.origin === location.origin &&
        (url.pathname.startsWith('/_next/static/') || /^\/(icon|manifest)/.test(url.pathname)),
    )
    .map((url) => url.pathname + url.search);
  const shell = await caches.open('capture-shell');
  await shell.put('/capture', page);
  await replaceWith(shell, ['/capture', ...parts]);
  await replaceWith(await caches.open('capture-ghosts'), [...ghosts]);
}

/** Fetches what is missing and lets go of what is no longer named. */
async function replaceWith(cache: Cache, wanted: readonly string[]): Promise<void> {
  const have = await cache.keys();
  const path = (request: Request) => request.url.slice(location.origin.length);
  await Promise.all(have.filter((request) => !wanted.includes(path(request))).map((request) => cache.delete(request)));
  const missing = [...new Set(wanted)].filter(
    (address) => !have.some((request) => path(request) === address) && address !== '/capture',
  );
  await Promise.all(missing.map((address) => cache.add(address).catch(() => undefined)));
}
