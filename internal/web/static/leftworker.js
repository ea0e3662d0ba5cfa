// Stands between a phone and the site, for one page: where the site isn't reached
// it shows a page without any level. Levels are never kept: an old one must not
// look as if it were of now.

const store = "left-away";
const patience = 8000; // ms that the site may take to begin an answer

// renew keeps the page that stands in as the site has it now.
async function renew() {
	const page = await fetch(kept.away, { headers: { Accept: "text/html" } });
	if (!page.ok || page.redirected) return; // one would have to sign in first
	const cache = await caches.open(store);
	const have = new Set((await cache.keys()).map((request) => new URL(request.url).pathname));
	await cache.addAll(kept.files.filter((file) => !have.has(file)));
	await cache.put(kept.away, page);
	for (const path of have) if (path !== kept.away && !kept.files.includes(path)) await cache.delete(path);
}

self.addEventListener("install", (event) => event.waitUntil(renew().then(() => self.skipWaiting())));
self.addEventListener("activate", (event) => event.waitUntil(self.clients.claim()));

async function page(event) {
	let timer;
	try {
		const answer = await Promise.race([
			fetch(event.request),
			new Promise((_, no) => { timer = setTimeout(() => no(new Error("no answer")), patience); }),
		]);
		event.waitUntil(renew().catch(() => {}));
		return answer;
	} catch {
		return await caches.match(kept.away) ?? Response.error();
	} finally {
		clearTimeout(timer);
	}
}

self.addEventListener("fetch", (event) => {
	const { pathname } = new URL(event.request.url);
	if (event.request.mode === "navigate" && pathname === kept.page) event.respondWith(page(event));
	// Under their mark the files never change.
	else if (kept.files.includes(pathname)) event.respondWith(caches.match(pathname).then((file) => file ?? fetch(event.request)));
});

// What the watch tells (RFC 8030) is shown by the phone, also while the page is closed.
// Each message has to be: a browser that got one and showed nothing would say so itself.
self.addEventListener("push", (event) => {
	let told = {};
	try { told = event.data.json(); } catch { /* nothing that can be read */ }
	event.waitUntil(self.registration.showNotification(told.title || kept.title, {
		body: told.body || "", tag: told.tag || "", renotify: Boolean(told.tag), requireInteraction: Boolean(told.critical),
		timestamp: Date.parse(told.time) || Date.now(), icon: kept.icon, badge: kept.icon, data: { page: kept.page },
	}));
});

self.addEventListener("notificationclick", (event) => {
	event.notification.close();
	event.waitUntil((async () => {
		const open = await self.clients.matchAll({ type: "window", includeUncontrolled: true });
		for (const client of open) if (new URL(client.url).pathname === kept.page) return client.focus();
		return self.clients.openWindow(kept.page);
	})());
});
