// The worker to hand out when a release went wrong: it lets everything through, drops our caches and touches nothing else.
// What was recorded is in the phone's store and stays there.

self.addEventListener('install', () => self.skipWaiting());

self.addEventListener('activate', (event) => event.waitUntil((async () => {
  const names = await caches.keys();
  await Promise.all(names.filter((n) => n.startsWith('swardbook-release-')).map((n) => caches.delete(n)));
})()));
