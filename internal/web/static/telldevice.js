// A device asks to be told of alarms, by Web Push: its browser subscribes, and the
// watch keeps the subscription. Nothing is asked of anybody until they press the button.

import { said } from "./said.js";

const worker = "/left/worker.js";
const patience = 30000; // ms that the browser may take to reach its own service
const can = window.isSecureContext && "serviceWorker" in navigator && "PushManager" in window && "Notification" in window;

let subscription = null;
let working = false;

const part = (name) => document.getElementById("telldevice" + (name ? "-" + name : ""));

function show(words, action) {
	part("words").textContent = words;
	const button = part("do");
	button.hidden = !action;
	button.textContent = action ?? "";
	button.disabled = working;
	part("named").hidden = !action || subscription !== null;
}

function stand(words) {
	if (!part()) return;
	part().hidden = false;
	if (!can) show(said("This browser can’t be told here. It takes a page that was opened over https; on some phones the page has to be put on the home screen first."));
	else if (Notification.permission === "denied") show(said("This browser lets the page tell nothing. Allow it in the browser’s settings for this page, then come back."));
	else if (subscription) show(words ?? said("This device is told of alarms, also while the page is closed."), said("Don’t tell this device any more"));
	else show(words ?? said("This device can be told of alarms, also while the page is closed."), said("Tell this device of alarms"));
}

const bytes = (text) => Uint8Array.from(atob(text.replaceAll("-", "+").replaceAll("_", "/")), (c) => c.charCodeAt(0));

const same = (a, b) => a.length === b.length && a.every((v, i) => v === b[i]);

async function send(path, fields) {
	const answer = await fetch(path, { method: "POST", body: new URLSearchParams(fields), headers: { Accept: "text/plain" } });
	if (!answer.ok) throw new Error(String(answer.status));
}

async function begin() {
	if (await Notification.requestPermission() !== "granted") return;
	await navigator.serviceWorker.register(worker, { scope: "/left" });
	const registration = await ready();
	const key = bytes(part().dataset.key);
	const old = await registration.pushManager.getSubscription();
	if (old) await old.unsubscribe(); // it may be of another key
	const fresh = await Promise.race([
		registration.pushManager.subscribe({ userVisibleOnly: true, applicationServerKey: key }),
		new Promise((_, no) => setTimeout(() => no(new Error("no answer")), patience)),
	]);
	try {
		await send("/alarms/device", { subscription: JSON.stringify(fresh), name: part("name").value });
		subscription = fresh;
	} catch (why) {
		await fresh.unsubscribe();
		throw why;
	}
}

// ready gives the registration once its worker runs: the page may lie outside of what the
// worker looks after.
async function ready() {
	const registration = await navigator.serviceWorker.getRegistration("/left");
	const next = registration.installing ?? registration.waiting;
	if (!registration.active && next) await new Promise((done) => next.addEventListener("statechange", () => { if (next.state === "activated" || next.state === "redundant") done(); }));
	return registration;
}

async function end() {
	const { endpoint } = subscription;
	await subscription.unsubscribe();
	subscription = null;
	await send("/alarms/device/end", { endpoint });
}

async function press() {
	if (working) return;
	working = true;
	stand(said("The browser is asking its own service for messages …"));
	let words;
	try {
		await (subscription ? end() : begin());
	} catch {
		words = said("That didn’t work: the browser’s own service for messages, or this watch, wasn’t reached. Nothing was changed; try it again.");
	}
	working = false;
	stand(words);
}

async function look() {
	if (!part()) return;
	if (can) {
		const registration = await navigator.serviceWorker.getRegistration("/left");
		subscription = await registration?.pushManager.getSubscription() ?? null;
		const key = subscription?.options.applicationServerKey;
		if (key && !same(new Uint8Array(key), bytes(part().dataset.key))) subscription = null; // of a watch that isn't this one
	}
	part("do").onclick = press;
	stand();
}

// A page that has become another one has the part anew.
document.addEventListener("refreshed", () => { if (part()?.hidden) look(); });
look();
