package station

import (
	"errors"
	"fmt"
	"log/slog"
	"maps"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"time"

	"github.com/BurntSushi/toml"

	"gaugewright/internal/feed"
	"gaugewright/internal/feed/can"
	"gaugewright/internal/feed/file"
	"gaugewright/internal/feed/lines"
	"gaugewright/internal/feed/modbus"
	"gaugewright/internal/feed/mqtt"
	"gaugewright/internal/feed/xdr"
	"gaugewright/internal/notice/hook"
	"gaugewright/internal/notice/mail"
	"gaugewright/internal/notice/push"
	"gaugewright/internal/web"
)

// Config is a watch as its TOML file has it. docs/watching.md says each key.
type Config struct {
	// Data is the file that readings are kept in.
	Data string `toml:"data"`
	// Warm is how far back readings that were kept are gone through again when the
	// watch starts, so that it knows at once what it knew before.
	Warm feed.Duration `toml:"warm"`
	// PublishEvery is the least time between two levels of a tank that are
	// published; what changes its status is published at once.
	PublishEvery feed.Duration `toml:"publish_every"`
	// CommitEvery is the least time between two commits of readings to the disk.
	// Acknowledgements wait for it; pages and levels don't.
	CommitEvery feed.Duration `toml:"commit_every"`
	// KeepFor is how old readings may become; what is older goes. KeepMost is how
	// large the file may become before the oldest go ("2GB").
	KeepFor  feed.Duration `toml:"keep_for"`
	KeepMost Bytes         `toml:"keep_most"`

	Tank map[string]Tank `toml:"tank"`

	Backup Backup `toml:"backup"`

	Alarm map[string]Alarm `toml:"alarm"` // those of one's own

	MQTT    *mqtt.Config                  `toml:"mqtt"`
	Outside map[string]mqtt.OutsideConfig `toml:"outside"`
	HTTP    *HTTP                         `toml:"http"`
	Modbus  map[string]modbus.Config      `toml:"modbus"`
	CAN     map[string]can.Config         `toml:"can"`
	XDR     map[string]xdr.Config         `toml:"xdr"`
	Lines   map[string]lines.Config       `toml:"lines"`
	File    map[string]file.Config        `toml:"file"`

	// Mail, Hook and Push are the ways by which people and programs are told of alarms, and
	// Quiet when they aren't but for what is critical.
	Mail  map[string]mail.Config `toml:"mail"`
	Hook  map[string]hook.Config `toml:"hook"`
	Push  *push.Config           `toml:"push"`
	Quiet *QuietHours            `toml:"quiet"`

	folder string // that paths in it are relative to
}

// Usual values.
const (
	usualData         = "watch.db"
	usualWarm         = "1h"
	usualPublishEvery = "1s"
	usualCommitEvery  = "10s"
	longestCommit     = 5 * time.Minute
)

// name is what tanks and feeds may be called: it stands in topics, addresses and
// names of variables.
var name = regexp.MustCompile(`^[A-Za-z0-9][A-Za-z0-9_-]{0,63}$`)

// prefix begins the environment variables that are keys of the configuration.
const prefix = "GAUGEWRIGHT_WATCH_"

// Read reads a configuration: the file (path "": none), then what the
// environment says ("NAME=VALUE" each), then what was set by hand ("KEY=VALUE",
// keys with dots: "tank.fresh.stale=10m"). Later ones win. A key that isn't
// known is refused by name. All that is wrong is told, a line each.
func Read(path string, environment, set []string) (Config, error) {
	tree := map[string]any{}
	c := Config{folder: "."}
	if path != "" {
		text, err := os.ReadFile(path)
		if err != nil {
			return c, fmt.Errorf("the configuration can't be read: %w", err)
		}
		if _, err := toml.Decode(string(text), &tree); err != nil {
			return c, fmt.Errorf("%s: %w", path, placed(err))
		}
		c.folder = filepath.Dir(path)
	}
	before := shape(tree)
	for _, variable := range environment {
		key, value, ok := strings.Cut(variable, "=")
		if rest, mine := strings.CutPrefix(key, prefix); ok && mine {
			if err := put(tree, match(tree, strings.Split(rest, "__")), value); err != nil {
				return c, fmt.Errorf("the environment's %s: %w", key, err)
			}
		}
	}
	for _, text := range set {
		key, value, ok := strings.Cut(text, "=")
		if !ok {
			return c, fmt.Errorf(`"%s" sets nothing; expected KEY=VALUE, as in tank.fresh.stale=10m`, text)
		}
		if err := put(tree, strings.Split(strings.TrimSpace(key), "."), strings.TrimSpace(value)); err != nil {
			return c, fmt.Errorf("%s: %w", key, err)
		}
	}
	// The file alone is decoded as it stands where nothing was set over it, so that
	// an error has its line.
	from := path
	text, err := os.ReadFile(path)
	if err != nil || before != shape(tree) {
		var b strings.Builder
		if err := toml.NewEncoder(&b).Encode(tree); err != nil {
			return c, err
		}
		if text = []byte(b.String()); path == "" {
			from = "the configuration"
		}
	}
	known, err := toml.Decode(string(text), &c)
	if err != nil {
		return c, fmt.Errorf("%s: %w", from, placed(err))
	}
	var faults []error
	for _, k := range known.Undecoded() {
		faults = append(faults, fmt.Errorf("%s: there is no key %s; docs/watching.md lists those there are", from, k))
	}
	faults = append(faults, c.usual(), c.check())
	return c, errors.Join(faults...)
}

// shape is a tree in words, to tell whether it was changed.
func shape(tree map[string]any) string { return fmt.Sprint(tree) }

// placed gives what is wrong in a TOML text with its line.
func placed(err error) error {
	var p toml.ParseError
	if errors.As(err, &p) {
		return fmt.Errorf("line %d: %s", p.Position.Line, strings.TrimPrefix(p.Message, "toml: "))
	}
	return err
}

// match gives the keys of a tree that a variable's parts stand for: upper case
// for lower, and _ for -.
func match(tree map[string]any, parts []string) []string {
	out := make([]string, len(parts))
	for i, part := range parts {
		out[i] = strings.ToLower(part)
		for _, key := range slices.Sorted(maps.Keys(tree)) {
			if strings.EqualFold(strings.ReplaceAll(key, "-", "_"), part) {
				out[i] = key
			}
		}
		tree, _ = tree[out[i]].(map[string]any)
	}
	return out
}

// put sets a key in a tree. The value is TOML where it is that, and text
// otherwise.
func put(tree map[string]any, keys []string, value string) error {
	for i, key := range keys[:len(keys)-1] {
		next, ok := tree[key].(map[string]any)
		if !ok {
			if _, there := tree[key]; there {
				return fmt.Errorf("%s isn't a table, so it has no key %s", strings.Join(keys[:i+1], "."), keys[i+1])
			}
			next = map[string]any{}
			tree[key] = next
		}
		tree = next
	}
	last := keys[len(keys)-1]
	if last == "" {
		return errors.New("a key is empty")
	}
	var holder map[string]any
	if _, err := toml.Decode("v = "+value, &holder); err == nil && len(holder) == 1 {
		tree[last] = holder["v"]
	} else {
		tree[last] = value
	}
	return nil
}

// usual fills in what wasn't stated.
func (c *Config) usual() error {
	if c.Data == "" {
		c.Data = usualData
	}
	for _, d := range []struct {
		to    *feed.Duration
		usual string
	}{{&c.Warm, usualWarm}, {&c.PublishEvery, usualPublishEvery}, {&c.CommitEvery, usualCommitEvery}} {
		if *d.to == 0 {
			if err := d.to.UnmarshalText([]byte(d.usual)); err != nil {
				return err
			}
		}
	}
	return nil
}

// check says what of the names and of the whole can't be. What is inside a tank
// or a feed is looked at when they are built.
func (c *Config) check() error {
	var faults []error
	if len(c.Tank) == 0 {
		faults = append(faults, errors.New("no tank is to be watched; expected at least one table like [tank.fresh]"))
	}
	faults = append(faults, c.keeping()...)
	faults = append(faults, c.checkAlarms()...)
	if d := time.Duration(c.CommitEvery); d > longestCommit {
		faults = append(faults, fmt.Errorf(`commit_every is %v, for which senders wait for an acknowledgement; expected "1ms" to "5m"`, d))
	}
	for _, kind := range []struct {
		what  string
		names []string
	}{
		{"tank", slices.Sorted(maps.Keys(c.Tank))}, {"outside", slices.Sorted(maps.Keys(c.Outside))},
		{"modbus", slices.Sorted(maps.Keys(c.Modbus))}, {"can", slices.Sorted(maps.Keys(c.CAN))},
		{"xdr", slices.Sorted(maps.Keys(c.XDR))}, {"lines", slices.Sorted(maps.Keys(c.Lines))},
		{"file", slices.Sorted(maps.Keys(c.File))},
		{"mail", slices.Sorted(maps.Keys(c.Mail))}, {"hook", slices.Sorted(maps.Keys(c.Hook))},
	} {
		for _, n := range kind.names {
			if !name.MatchString(n) {
				faults = append(faults, fmt.Errorf("[%s.%q]: a name has letters, digits, - and _ only, and begins with a letter or a digit", kind.what, n))
			}
			if kind.what == "tank" && slices.Contains(web.NotTanks, n) {
				faults = append(faults, fmt.Errorf("[tank.%s]: a page has that name; expected another, such as %q", n, n+"-1"))
			}
		}
	}
	return errors.Join(faults...)
}

// path gives a file that the configuration names, relative to its own folder.
func (c *Config) path(p string) string {
	if p == "" || filepath.IsAbs(p) {
		return p
	}
	return filepath.Join(c.folder, p)
}

// Try says whether a configuration can be used, without opening anything: the
// tanks are built, and the feeds are made and don't run.
func (c Config) Try() error {
	var faults []error
	for _, n := range slices.Sorted(maps.Keys(c.Tank)) {
		_, about, err := c.built(n, c.Tank[n])
		if err == nil {
			_, err = c.rules(n, about.Label)
		}
		faults = append(faults, err)
	}
	s := &Station{config: c, o: Options{Log: slog.New(slog.DiscardHandler), Now: time.Now, Zone: time.Local}}
	return errors.Join(append(faults, s.build(), c.checkNotices())...)
}
