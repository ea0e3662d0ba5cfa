package station

import (
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"
)

// write puts a configuration into a file of its own.
func write(t *testing.T, text string) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "watch.toml")
	if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
	return path
}

const small = "[tank.fresh]\nlower = 10\nupper = \"180ohm\"\ncapacity = \"100L\"\n"

func TestRead(t *testing.T) {
	c, err := Read(write(t, small), nil, nil)
	if err != nil {
		t.Fatal(err)
	}
	if c.Data != "watch.db" || time.Duration(c.Warm) != time.Hour || time.Duration(c.PublishEvery) != time.Second {
		t.Errorf("usual values: %q, %v, %v", c.Data, time.Duration(c.Warm), time.Duration(c.PublishEvery))
	}
	if got := c.Tank["fresh"]; got.Lower.Text != "10" || got.Upper.Text != "180ohm" {
		t.Errorf("the tank is %+v", got)
	}
}

// The command line wins over the environment, and that over the file.
func TestReadInOrder(t *testing.T) {
	path := write(t, small+"stale = \"1m\"\n[tank.grey-water]\nlower = 0\nupper = 90\n")
	stale := func(environment, set []string) time.Duration {
		t.Helper()
		c, err := Read(path, environment, set)
		if err != nil {
			t.Fatal(err)
		}
		return time.Duration(c.Tank["fresh"].Stale)
	}
	env := []string{"HOME=/x", "GAUGEWRIGHT_WATCH_TANK__FRESH__STALE=2m"}
	if got := stale(nil, nil); got != time.Minute {
		t.Errorf("from the file: %v", got)
	}
	if got := stale(env, nil); got != 2*time.Minute {
		t.Errorf("from the environment: %v", got)
	}
	if got := stale(env, []string{"tank.fresh.stale=3m"}); got != 3*time.Minute {
		t.Errorf("from the command line: %v", got)
	}
	c, err := Read(path, []string{"GAUGEWRIGHT_WATCH_TANK__GREY_WATER__DAMPING=7s"}, nil)
	if err != nil || time.Duration(c.Tank["grey-water"].Damping) != 7*time.Second {
		t.Errorf("a name with a hyphen from the environment: %v, %v", c.Tank, err)
	}
	if c, err = Read("", nil, []string{"tank.a.lower=10", "tank.a.upper=180ohm"}); err != nil || c.Tank["a"].Upper.Text != "180ohm" {
		t.Errorf("without a file: %+v, %v", c.Tank, err)
	}
}

// What can't be used is told, with its line or its key.
func TestReadRefuses(t *testing.T) {
	for name, c := range map[string]struct {
		text string
		set  []string
		say  string // a regular expression
	}{
		"not TOML":            {"[tank.fresh\n", nil, `watch\.toml: line 2: `},
		"no tank":             {"data = \"x.db\"\n", nil, `no tank is to be watched; expected at least one table like \[tank\.fresh\]`},
		"an unknown key":      {small + "colour = \"blue\"\n", nil, `there is no key tank\.fresh\.colour; docs/watching\.md lists`},
		"an unknown table":    {small + "[gauges]\nx = 1\n", nil, `there is no key gauges`},
		"a duration":          {small + "stale = \"soon\"\n", nil, `line 5: .*"soon" is no duration; expected one like "500ms", "5s", "10m" or "30d"`},
		"a name with a slash": {"[tank.\"a/b\"]\nlower = 1\nupper = 2\n", nil, `\[tank\."a/b"\]: a name has letters, digits`},
		"a signal":            {small + "signal = \"litres\"\n", nil, `there is no signal "litres"; expected "ohm"`},
		"set without a value": {small, []string{"tank.fresh.stale"}, `"tank\.fresh\.stale" sets nothing; expected KEY=VALUE`},
		"set in no table":     {small, []string{"tank.fresh.lower.x=1"}, `tank\.fresh\.lower isn't a table, so it has no key x`},
		"a quantity":          {"[tank.fresh]\nlower = true\n", nil, `found true; expected a number or a quantity`},
	} {
		t.Run(name, func(t *testing.T) {
			_, err := Read(write(t, c.text), nil, c.set)
			if err == nil || !regexp.MustCompile(c.say).MatchString(err.Error()) {
				t.Errorf("it says %v, expected %s", err, c.say)
			}
		})
	}
	if _, err := Read(filepath.Join(t.TempDir(), "none.toml"), nil, nil); err == nil || !strings.Contains(err.Error(), "none.toml") {
		t.Errorf("a file that isn't there: %v", err)
	}
}
