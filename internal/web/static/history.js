// What a change did is fetched when it is unfolded; without this script a link in
// its place leads to the same words.
document.addEventListener("toggle", async (event) => {
	const fold = event.target;
	const from = fold.dataset.changes;
	if (!fold.open || !from) return;
	const link = fold.querySelector(".unfolded > p");
	link.hidden = true; // at once, so that nobody stands on it when it goes
	delete fold.dataset.changes;
	try {
		const answer = await fetch(from, { headers: { Accept: "text/html" } });
		if (!answer.ok || answer.redirected) throw new Error(answer.statusText);
		const part = new DOMParser().parseFromString(await answer.text(), "text/html").body;
		link.replaceWith(...part.children);
	} catch { link.hidden = false; }
}, true);
