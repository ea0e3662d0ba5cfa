package station

import (
	"maps"
	"path/filepath"
	"slices"
)

// Belonging is a file that belongs to a watch.
type Belonging struct {
	Path string // where it is
	Name string // what the configuration calls it, relative to its own folder where it can
	Data bool   // it is the file of readings; otherwise a job
}

// Belongings lists the file of readings and the job files that a configuration names.
// Passwords, keys and certificates aren't among them: where they lie is nobody's
// business but their own.
func (c *Config) Belongings() []Belonging {
	list := []Belonging{{Path: c.path(c.Data), Name: c.called(c.Data), Data: true}}
	for _, n := range slices.Sorted(maps.Keys(c.Tank)) {
		if f := c.Tank[n].Job; f != "" && !slices.ContainsFunc(list, func(b Belonging) bool { return b.Path == c.path(f) }) {
			list = append(list, Belonging{Path: c.path(f), Name: c.called(f)})
		}
	}
	return list
}

// called is a file's name below the configuration's folder, or its last part where it
// lies elsewhere.
func (c *Config) called(p string) string {
	if p = filepath.Clean(p); filepath.IsLocal(p) {
		return filepath.ToSlash(p)
	}
	return filepath.Base(p)
}
