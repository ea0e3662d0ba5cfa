package peer

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

// PythonVariable names the environment variable that says which Python to try
// first.
const PythonVariable = "GAUGEWRIGHT_PYTHON"

// scriptLimit is how long one script may run.
const scriptLimit = 60 * time.Second

// prelude runs the script named as its argument after closing the network to
// it: a reference that depends on something fetched is no reference. It stops
// slips, not malice.
const prelude = `
import runpy, sys
def refuse(event, args):
    if event in ("socket.connect", "socket.bind", "socket.sendto", "socket.getaddrinfo"):
        raise PermissionError("a reference script may not use the network: " + event)
sys.addaudithook(refuse)
runpy.run_path(sys.argv[1], run_name="__main__")
`

// Python runs a script in a Python that has the modules named, and reads its
// answer. The script gets in as JSON on standard input and has to print one
// JSON value, which is read into out:
//
//	var got struct{ Value float64 }
//	peer.Python(t, []string{"scipy"}, `
//	import json, sys
//	from scipy.stats import norm
//	given = json.load(sys.stdin)
//	print(json.dumps({"Value": norm.cdf(given["X"])}))
//	`, map[string]any{"X": 1.0}, &got)
//
// NaN and the infinities are not JSON, on the way in or out; have the script
// send a string or null instead.
//
// The Python is the first that can import the modules of the one named by
// GAUGEWRIGHT_PYTHON, /usr/bin/python3, and python3 in PATH. Where none can,
// the test ends as [Missing] says. Any other trouble fails the test: a script
// that ends with an error, that takes more than 60 s, that prints something
// else than one JSON value, or a field in the answer that out doesn't have.
func Python(t testing.TB, modules []string, script string, in, out any) {
	t.Helper()
	python, tried := find(candidates(), modules)
	if python == "" {
		Missing(t, "%s", missingModules(modules, tried))
	}
	ctx, cancel := context.WithTimeout(context.Background(), scriptLimit)
	defer cancel()
	if err := run(ctx, python, t.TempDir(), script, in, out); err != nil {
		t.Fatalf("reference in Python: %v", err)
	}
}

// run does the work of Python with an interpreter already chosen. The script
// is kept in dir, so that a traceback can show the line.
func run(ctx context.Context, python, dir, script string, in, out any) error {
	given, err := json.Marshal(in)
	if err != nil {
		return fmt.Errorf("the input can't be written as JSON: %w", err)
	}
	file := filepath.Join(dir, "reference.py")
	if err := os.WriteFile(file, []byte(script), 0o600); err != nil {
		return err
	}
	var stdout, stderr bytes.Buffer
	cmd := exec.CommandContext(ctx, python, "-c", prelude, file)
	cmd.Stdin, cmd.Stdout, cmd.Stderr = bytes.NewReader(given), &stdout, &stderr
	cmd.WaitDelay = 5 * time.Second
	// One thread each keeps sums in one order, and leaves the other cores to
	// the other tests.
	cmd.Env = append(os.Environ(),
		"PYTHONDONTWRITEBYTECODE=1", "PYTHONIOENCODING=utf-8", "PYTHONHASHSEED=0",
		"OMP_NUM_THREADS=1", "OPENBLAS_NUM_THREADS=1", "MKL_NUM_THREADS=1")
	err = cmd.Run()
	if ctx.Err() != nil {
		return fmt.Errorf("the script was stopped, it took too long: %w%s", ctx.Err(), quoted("standard error", stderr.String()))
	}
	if err != nil {
		return fmt.Errorf("%s: %w%s", python, err, quoted("standard error", stderr.String()))
	}
	if err := decode(stdout.Bytes(), out); err != nil {
		return fmt.Errorf("%w%s%s", err, quoted("standard output", stdout.String()), quoted("standard error", stderr.String()))
	}
	return nil
}

// decode reads exactly one JSON value.
func decode(text []byte, out any) error {
	if len(bytes.TrimSpace(text)) == 0 {
		return errors.New("the script printed nothing; expected one JSON value")
	}
	// json.loads in Python would read what json.dumps writes here; Go doesn't.
	for _, word := range []string{"NaN", "Infinity"} {
		if !json.Valid(text) && bytes.Contains(text, []byte(word)) {
			return fmt.Errorf("the script printed %s, which is not JSON; send a string or null instead", word)
		}
	}
	d := json.NewDecoder(bytes.NewReader(text))
	d.DisallowUnknownFields()
	if err := d.Decode(out); err != nil {
		return fmt.Errorf("the answer can't be read as %T: %w", out, err)
	}
	if d.More() {
		return errors.New("the script printed more than one JSON value")
	}
	return nil
}

// quoted sets what a program printed under an error, cut to its last part.
func quoted(what, text string) string {
	const most = 4000
	text = strings.TrimSpace(text)
	if text == "" {
		return ""
	}
	if len(text) > most {
		text = "... " + text[len(text)-most:]
	}
	return "\n" + what + ":\n" + text
}
