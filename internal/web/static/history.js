// What a change did is fetched when it is unfolded; without this script a link in
// its place leads to the same words.
document.addEventListener("toggle", async (event) => {
	const fold = event.target;
	if (!fold.open || !fold.dataset.changes) return;
	const link = fold.querySelector(".unfolded > p");
	try {
		const answer = await fetch(fold.dataset.changes, { headers: { Accept: "text/html" } });
		if (!answer.ok || answer.redirected) return; // the link is still there
		const part = new DOMParser().parseFromString(await answer.text(), "text/html").body;
		link.replaceWith(...part.children);
		delete fold.dataset.changes;
	} catch { /* the link is still there */ }
}, true);
