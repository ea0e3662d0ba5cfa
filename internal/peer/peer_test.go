package peer

import (
	"context"
	"errors"
	"fmt"
	"math"
	"runtime"
	"strings"
	"testing"
	"time"
)

// fake stands in for a test, to see how one would end.
type fake struct {
	testing.TB
	ended, message string
	dir            string
}

func (f *fake) Helper()         {}
func (f *fake) TempDir() string { return f.dir }
func (f *fake) Fatalf(format string, args ...any) {
	f.end("fatal", format, args)
}
func (f *fake) Skipf(format string, args ...any) {
	f.end("skip", format, args)
}
func (f *fake) end(how, format string, args []any) {
	f.ended, f.message = how, fmt.Sprintf(format, args...)
	runtime.Goexit()
}

// watch runs f as a test function would be run and tells how it ended.
func watch(t *testing.T, f func(testing.TB)) *fake {
	t.Helper()
	stand := &fake{dir: t.TempDir()}
	done := make(chan struct{})
	go func() {
		defer close(done)
		f(stand)
	}()
	<-done
	return stand
}

func TestMissing(t *testing.T) {
	for _, c := range []struct{ ci, ended string }{
		{"true", "fatal"}, {"", "skip"}, {"false", "skip"}, {"1", "skip"},
	} {
		t.Setenv("CI", c.ci)
		got := watch(t, func(t testing.TB) { Missing(t, "no %s", "anvil") })
		if got.ended != c.ended || !strings.Contains(got.message, "no anvil") {
			t.Errorf("CI=%q: ended %q with %q, expected %q", c.ci, got.ended, got.message, c.ended)
		}
	}
}

func TestTool(t *testing.T) {
	if path := Tool(t, "go", "golang-go"); !strings.Contains(path, "go") {
		t.Errorf("go found at %q", path)
	}
	t.Setenv("CI", "")
	got := watch(t, func(t testing.TB) { Tool(t, "no-such-program-anywhere", "no-such-package") })
	if got.ended != "skip" || !strings.Contains(got.message, "apt-get install no-such-package") {
		t.Errorf("ended %q with %q", got.ended, got.message)
	}
}

// The 97.5 % point of the standard normal distribution, 1.959963984540054 to
// sixteen digits: a value in every table of it. The same as a definition that
// needs no table: Phi(x) = erfc(-x/sqrt 2)/2.
func TestPythonKnownValue(t *testing.T) {
	var got struct{ Mean, Quantile float64 }
	Python(t, []string{"numpy", "scipy"}, `
import json, sys
import numpy
from scipy.stats import norm
given = json.load(sys.stdin)
print(json.dumps({"Mean": float(numpy.mean(given["Values"])), "Quantile": float(norm.ppf(given["P"]))}))
`, map[string]any{"Values": []float64{1, 2, 6}, "P": 0.975}, &got)
	if got.Mean != 3 {
		t.Errorf("mean of 1, 2, 6: got %v, expected 3", got.Mean)
	}
	if math.Abs(got.Quantile-1.959963984540054) > 1e-12 {
		t.Errorf("normal quantile at 0.975: got %.16g, expected 1.959963984540054", got.Quantile)
	}
	if p := math.Erfc(-got.Quantile/math.Sqrt2) / 2; math.Abs(p-0.975) > 1e-14 {
		t.Errorf("normal distribution at the quantile: got %v, expected 0.975", p)
	}
}

// A float64 passes through unchanged: both sides write the shortest decimal
// that reads back as the same number.
func TestPythonKeepsNumbers(t *testing.T) {
	in := []float64{0.1, 1.0 / 3, math.Nextafter(1, 2), 5e-324, math.MaxFloat64, 240.00000000000003}
	var out []float64
	Python(t, nil, "import json, sys; print(json.dumps(json.load(sys.stdin)))", in, &out)
	if len(out) != len(in) {
		t.Fatalf("sent %d numbers, got %d", len(in), len(out))
	}
	for i := range in {
		if in[i] != out[i] {
			t.Errorf("sent %v, got %v", in[i], out[i])
		}
	}
}

func TestPythonFails(t *testing.T) {
	for _, c := range []struct {
		name, script, say string
		in                any
	}{
		{"error", "raise ValueError('no such tank')", "no such tank", nil},
		{"names the line", "\n\n1/0", "line 3", nil},
		{"exit", "import sys; sys.exit(3)", "exit status 3", nil},
		{"silent", "pass", "printed nothing", nil},
		{"words", "print('forty-two')", "forty-two", nil},
		{"twice", "print('{}'); print('{}')", "more than one", nil},
		{"not a number", "print('{\"Value\": NaN}')", "NaN, which is not JSON", nil},
		{"another field", "print('{\"Valeu\": 1}')", "Valeu", nil},
		{"input", "print(1)", "can't be written as JSON", math.NaN()},
		{"network", "import socket; socket.create_connection(('127.0.0.1', 9))", "may not use the network", nil},
		{"look-up", "import socket; socket.getaddrinfo('localhost', 9)", "may not use the network", nil},
	} {
		t.Run(c.name, func(t *testing.T) {
			var out struct{ Value float64 }
			got := watch(t, func(t testing.TB) { Python(t, nil, c.script, c.in, &out) })
			if got.ended != "fatal" || !strings.Contains(got.message, c.say) {
				t.Errorf("ended %q with %q, expected fatal with %q", got.ended, got.message, c.say)
			}
		})
	}
}

func TestPythonTooLong(t *testing.T) {
	python, tried := find(candidates(), nil)
	if python == "" {
		Missing(t, "no Python: %v", tried)
	}
	ctx, cancel := context.WithTimeout(context.Background(), 300*time.Millisecond)
	defer cancel()
	start := time.Now()
	var out int
	err := run(ctx, python, t.TempDir(), "import time; time.sleep(30)", nil, &out)
	if !errors.Is(err, context.DeadlineExceeded) {
		t.Errorf("got %v, expected a deadline", err)
	}
	if took := time.Since(start); took > 20*time.Second {
		t.Errorf("stopped after %v, expected soon after 0.3 s", took)
	}
}

func TestPythonMissingModule(t *testing.T) {
	for ci, ended := range map[string]string{"": "skip", "true": "fatal"} {
		t.Setenv("CI", ci)
		got := watch(t, func(t testing.TB) { Python(t, []string{"no_such_module.part"}, "", nil, nil) })
		if got.ended != ended || !strings.Contains(got.message, "apt-get install python3 python3-no_such_module") {
			t.Errorf("CI=%q: ended %q with %q", ci, got.ended, got.message)
		}
	}
}

// The variable's Python comes first; one that isn't there is passed over, and
// named if no other will do.
func TestFindOrder(t *testing.T) {
	t.Setenv(PythonVariable, "/no/such/python")
	list := candidates()
	if len(list) < 2 || list[0] != "/no/such/python" {
		t.Fatalf("candidates %q, expected the variable's first and others after it", list)
	}
	if python, _ := find(list, nil); python == list[0] {
		t.Errorf("found %q, which doesn't exist", python)
	}
	python, tried := find(list, []string{"no_such_module"})
	if python != "" || len(tried) != len(list) {
		t.Errorf("found %q, tried %q; expected none, and all tried", python, tried)
	}
	again, _ := find(list, []string{"no_such_module"})
	if again != python || len(found.answers) == 0 {
		t.Errorf("the second answer %q differs or was not kept", again)
	}
}
