// Runs axe-core, which has been loaded into the page, and keeps of its answer
// what a test needs. Of rules that are kept or can't be decided it names one place
// each: to find a selector for every other takes longer than the rules themselves.
axe.run(document, {
	resultTypes: ['violations'],
	runOnly: {
		type: 'tag',
		values: ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice'],
	},
}).then(answer => {
	const where = node => node.target.flat().join(' ');
	return {
		Passed: answer.passes.length,
		Undecided: answer.incomplete.flatMap(rule =>
			rule.nodes.map(node => rule.id + ' at ' + where(node) + ': ' + rule.help)),
		Violations: answer.violations.map(rule => ({
			ID: rule.id,
			Impact: rule.impact || '',
			Help: rule.help,
			Tags: rule.tags,
			Nodes: rule.nodes.map(node => ({
				Target: where(node),
				HTML: node.html.length > 200 ? node.html.slice(0, 200) + '...' : node.html,
				Summary: node.failureSummary || '',
			})),
		})),
	};
})
