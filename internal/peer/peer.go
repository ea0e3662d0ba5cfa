package peer

import (
	"os"
	"os/exec"
	"testing"
)

// CI says whether a missing program or a skipped test counts as a failure:
// whether the environment has CI=true.
func CI() bool { return os.Getenv("CI") == "true" }

// Missing ends a test that can't run for want of something outside the
// project. The words say what is missing and how to get it. The test is
// skipped, or fails where [CI] is set. Missing doesn't return.
func Missing(t testing.TB, format string, args ...any) {
	t.Helper()
	if CI() {
		t.Fatalf("CI=true, and "+format, args...)
	}
	t.Skipf(format, args...)
}

// Tool returns the path of a program found in PATH. Where there is none the
// test ends as [Missing] says, naming the Debian package that has it.
func Tool(t testing.TB, name, debianPackage string) string {
	t.Helper()
	path, err := exec.LookPath(name)
	if err != nil {
		Missing(t, "no %s found in PATH; install it: apt-get install %s", name, debianPackage)
	}
	return path
}
