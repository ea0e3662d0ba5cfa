package peer

import (
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
)

// ProgramVariable names the environment variable that says where the program is:
// ./check builds it once for all tests that start it.
const ProgramVariable = "GAUGEWRIGHT_PROGRAM"

// Program gives the path of the program as it is shipped: that named by
// GAUGEWRIGHT_PROGRAM, or one that it builds in a folder.
func Program(folder string) (string, error) {
	if path := os.Getenv(ProgramVariable); path != "" {
		return path, nil
	}
	path := filepath.Join(folder, "gaugewright")
	build := exec.Command("go", "build", "-trimpath", "-buildvcs=false", "-ldflags=-s -w", "-o", path, "gaugewright/cmd/gaugewright")
	build.Env = append(os.Environ(), "CGO_ENABLED=0")
	if out, err := build.CombinedOutput(); err != nil {
		return "", fmt.Errorf("the program isn't built: %w:\n%s", err, out)
	}
	return path, nil
}
