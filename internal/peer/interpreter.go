package peer

import "testing"

// Interpreter returns the path of a Python that has the modules, for a program
// that goes on running beside a test, such as a server. Where there is none the
// test ends as [Missing] says. What stands still for one answer is [Python]'s.
func Interpreter(t testing.TB, modules ...string) string {
	t.Helper()
	python, tried := find(candidates(), modules)
	if python == "" {
		Missing(t, "%s", missingModules(modules, tried))
	}
	return python
}
