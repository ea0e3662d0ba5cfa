package peer

import (
	"context"
	"fmt"
	"os"
	"os/exec"
	"slices"
	"strings"
	"sync"
	"time"
)

// importLimit is how long a Python may take to import the modules: the large
// ones need seconds from a cold disk.
const importLimit = 60 * time.Second

// debianPackages says what Debian calls a module, where it isn't "python3-"
// and the module's own name.
var debianPackages = map[string]string{
	"PIL":  "python3-pil",
	"paho": "python3-paho-mqtt",
	"yaml": "python3-yaml",
}

// candidates lists the interpreters to try, best first, without repeats.
func candidates() []string {
	var list []string
	for _, name := range []string{os.Getenv(PythonVariable), "/usr/bin/python3", "python3"} {
		if name == "" {
			continue
		}
		path, err := exec.LookPath(name)
		if err != nil {
			path = name // kept, so that the message can name it
		}
		if !slices.Contains(list, path) {
			list = append(list, path)
		}
	}
	return list
}

// found remembers for each list of interpreters and modules what was found:
// importing them takes a second or more, and many tests ask for the same.
var found struct {
	sync.Mutex
	answers map[string]answer
}

type answer struct {
	python string
	tried  []string
}

// find returns the first of the interpreters that can import every module, or
// "" and, for each one tried, what it said.
func find(pythons, modules []string) (python string, tried []string) {
	found.Lock()
	defer found.Unlock()
	key := strings.Join(pythons, "\n") + "\n\n" + strings.Join(modules, "\n")
	if a, ok := found.answers[key]; ok {
		return a.python, a.tried
	}
	var a answer
	for _, p := range pythons {
		err := tryImport(p, modules)
		if err == nil {
			a.python = p
			break
		}
		a.tried = append(a.tried, fmt.Sprintf("%s: %v", p, err))
	}
	if found.answers == nil {
		found.answers = make(map[string]answer)
	}
	found.answers[key] = a
	return a.python, a.tried
}

// tryImport imports the modules for real: one that is there and broken is no
// better than none.
func tryImport(python string, modules []string) error {
	ctx, cancel := context.WithTimeout(context.Background(), importLimit)
	defer cancel()
	script := "pass"
	if len(modules) > 0 {
		script = "import " + strings.Join(modules, ", ")
	}
	cmd := exec.CommandContext(ctx, python, "-c", script)
	cmd.WaitDelay = 5 * time.Second
	out, err := cmd.CombinedOutput()
	if err == nil {
		return nil
	}
	lines := strings.Split(strings.TrimSpace(string(out)), "\n")
	if last := lines[len(lines)-1]; last != "" {
		return fmt.Errorf("%s", last)
	}
	return err
}

// missingModules says what to do when no interpreter has the modules.
func missingModules(modules, tried []string) string {
	packages := []string{"python3"}
	for _, m := range modules {
		top, _, _ := strings.Cut(m, ".")
		name, ok := debianPackages[top]
		if !ok {
			name = "python3-" + top
		}
		if !slices.Contains(packages, name) {
			packages = append(packages, name)
		}
	}
	return fmt.Sprintf("no Python with %s found (%s); install them: apt-get install %s, or name one that has them in %s",
		strings.Join(modules, ", "), strings.Join(tried, "; "), strings.Join(packages, " "), PythonVariable)
}
