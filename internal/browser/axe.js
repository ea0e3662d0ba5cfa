// Runs axe-core, which has been loaded into the page, and keeps of its answer
// what a test needs.
axe.run(document, {
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
