package archtest

import (
	"fmt"
	"path"
	"slices"
	"strings"
)

// source is what the rules need to know of one Go file.
type source struct {
	file    string   // from the repository's root, with slashes
	name    string   // of the package
	doc     string   // the package comment, if this file has it
	imports []string // paths
	clocks  []string // functions of package time that it uses, of those listed in clocks
}

func (s source) test() bool { return strings.HasSuffix(s.file, "_test.go") }

// where is the name of the room that the file is in.
func (s source) where() string { return strings.TrimPrefix(path.Dir(s.file), "internal/") }

// faults lists every way in which the files break the plan, sorted. std are
// the names at the top of the standard library.
func faults(plan []room, std []string, files []source) []string {
	byName := make(map[string]room)
	for _, r := range plan {
		byName[r.name] = r
	}
	var list []string
	say := func(format string, args ...any) {
		if s := fmt.Sprintf(format, args...); !slices.Contains(list, s) {
			list = append(list, s)
		}
	}
	doc := make(map[string]string) // by room; "" if there is none
	named := make(map[string]string)
	for _, f := range files {
		r, ok := byName[f.where()]
		if !ok {
			say("%s: %s is not in the house; add it to the table in internal/archtest, with what it may import", path.Dir(f.file), f.where())
			continue
		}
		for _, name := range append(strings.Split(f.where(), "/"), strings.TrimSuffix(f.name, "_test")) {
			switch {
			case slices.Contains(noNames, name):
				say("%s: a package called %s says nothing; name it after what it knows", path.Dir(f.file), name)
			case slices.Contains(std, name) && name != "cmd":
				say("%s: %s is the name of a standard package; choose another", path.Dir(f.file), name)
			}
		}
		if !f.test() {
			named[f.where()] = f.name
			if f.doc != "" {
				doc[f.where()] = f.doc
			}
			if r.kind == core {
				for _, c := range f.clocks {
					say("%s: time.%s reads the clock; have the time passed in", f.file, c)
				}
			}
		}
		for _, imported := range f.imports {
			if fault := importFault(byName, r, f, imported); fault != "" {
				say("%s: %s", f.file, fault)
			}
		}
	}
	for where, name := range named {
		switch d := doc[where]; {
		case d == "":
			say("%s: the package has no comment; say in doc.go what it is for", where)
		case name != "main" && !strings.HasPrefix(d, "Package "+name+" "):
			say("%s: the package comment begins %.30q; expected it to begin \"Package %s\"", where, d, name)
		}
	}
	slices.Sort(list)
	return list
}

// importFault tells what is wrong with one import of a file in the room, or "".
func importFault(byName map[string]room, r room, f source, imported string) string {
	if imported == "C" {
		return `import "C" would need a C compiler and end the static binary; leave it out`
	}
	name, ours := strings.CutPrefix(imported, module+"/")
	if !ours {
		first, _, _ := strings.Cut(imported, "/")
		if !strings.Contains(first, ".") || f.test() {
			return "" // the standard library; tests may use any module of go.mod
		}
		for _, m := range r.outside {
			if imported == m || strings.HasPrefix(imported, m+"/") {
				return ""
			}
		}
		return fmt.Sprintf("%s may not import %s; it may use these modules: %s", r.name, imported, orNone(r.outside))
	}
	name = strings.TrimPrefix(name, "internal/")
	to, ok := byName[name]
	switch {
	case !ok:
		return fmt.Sprintf("%s is not in the house; add it to the table in internal/archtest", imported)
	case f.test() && name == r.name: // a test from outside its package
		return ""
	case to.kind == program:
		return fmt.Sprintf("%s is a program; nothing may import it", imported)
	case slices.Contains(r.may, name), f.test() && slices.Contains(testsMay, name):
		return ""
	case to.kind == support && !f.test():
		return fmt.Sprintf("%s is for tests; only _test.go files may import it", imported)
	}
	return fmt.Sprintf("%s may not import %s; it may import: %s", r.name, name, orNone(r.may))
}

// planFaults lists what is wrong with the plan itself.
func planFaults(plan []room) []string {
	var list, below []string
	for _, r := range plan {
		if slices.Contains(below, r.name) {
			list = append(list, r.name+" is in the table twice")
		}
		for _, m := range r.may {
			if !slices.Contains(below, m) {
				list = append(list, fmt.Sprintf("%s may import %s, which is not above it in the table", r.name, m))
			}
		}
		below = append(below, r.name)
	}
	return list
}

// moduleFaults lists the modules that are in a binary and not allowed there.
func moduleFaults(allowed, found []string) []string {
	var list []string
	for _, m := range found {
		if !slices.Contains(allowed, m) {
			list = append(list, fmt.Sprintf("module %s is in the binary; allowed are: %s", m, orNone(allowed)))
		}
	}
	return list
}

func orNone(names []string) string {
	if len(names) == 0 {
		return "none"
	}
	return strings.Join(names, ", ")
}
