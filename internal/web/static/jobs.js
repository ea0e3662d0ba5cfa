// The list follows what is typed, and files may be dropped on the page. Without
// this script the field and the form below do the same at the press of a button.
import { newKey, say } from "./app.js";
import { said } from "./said.js";

const field = document.getElementById("find");
let turn = 0, timer = 0;

// follow puts the list for what stands in the field in the place of the old one.
async function follow() {
	const mine = ++turn;
	const address = field.value.trim() === "" ? "/" : "/?" + new URLSearchParams({ find: field.value });
	try {
		const answer = await fetch(address, { headers: { Accept: "text/html" } });
		if (answer.redirected && new URL(answer.url).pathname === "/sign-in") { location.reload(); return; }
		if (!answer.ok || mine !== turn) return; // a later letter has asked since
		const fresh = new DOMParser().parseFromString(await answer.text(), "text/html");
		if (mine !== turn) return;
		const list = document.getElementById("list");
		const now = fresh.getElementById("list");
		// The line that is read aloud stays and gets new words, or it isn't read.
		const count = document.getElementById("count");
		count.textContent = now.querySelector("#count").textContent;
		now.querySelector("#count").replaceWith(count);
		list.replaceWith(now);
		history.replaceState(null, "", address);
	} catch { /* the list that stands is still right; the next letter asks again */ }
}
field.addEventListener("input", () => { clearTimeout(timer); timer = setTimeout(follow, 150); });

// A page that was gone back to starts another job, not the same one again.
window.addEventListener("pageshow", (event) => {
	if (event.persisted) document.getElementById("start").value = newKey();
});

const form = document.getElementById("import-form");
const files = document.getElementById("files");
const most = 64 * 1024 * 1024;

// A browser shows no answer to an upload that was cut off, so one that would be
// isn't begun.
form.addEventListener("submit", (event) => {
	let sum = 0;
	for (const file of files.files) sum += file.size;
	if (files.files.length === 0) {
		event.preventDefault();
		say(said("No file is chosen yet. Choose one or more job files first."));
	} else if (sum > most) {
		event.preventDefault();
		say(said("Not sent: these files come to {1} MB, and one upload may hold 64 MB. Choose fewer at a time.", Math.ceil(sum / 1048576)));
	} else say("");
});

const root = document.documentElement;
const carries = (event) => event.dataTransfer && event.dataTransfer.types.includes("Files");
let inside = 0; // elements that the pointer has entered and not left
document.addEventListener("dragenter", (event) => { if (carries(event)) { inside++; root.classList.add("dropping"); } });
document.addEventListener("dragleave", (event) => { if (carries(event) && --inside <= 0) { inside = 0; root.classList.remove("dropping"); } });
document.addEventListener("dragover", (event) => { if (carries(event)) event.preventDefault(); });
document.addEventListener("drop", (event) => {
	if (!carries(event)) return;
	event.preventDefault();
	inside = 0;
	root.classList.remove("dropping");
	files.files = event.dataTransfer.files;
	form.requestSubmit();
});
