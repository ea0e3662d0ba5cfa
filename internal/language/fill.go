package language

import (
	"errors"
	"fmt"
	"io/fs"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"
)

// Fill adds messages without a translation to the file of one part of a
// language's folder, "de/curve.po" say, for whoever translates them. What the
// folder has in any of its files already isn't added again. It gives how many
// were added.
func Fill(folder, part string, ids []string) (int, error) {
	have, err := messages(folder)
	if err != nil {
		return 0, err
	}
	var b strings.Builder
	file := filepath.Join(folder, part+".po")
	if _, err := os.Stat(file); errors.Is(err, fs.ErrNotExist) {
		fmt.Fprintf(&b, "msgid \"\"\nmsgstr \"\"\n%s\n", quotePO("Language: "+filepath.Base(folder)+"\n")+"\n"+quotePO("MIME-Version: 1.0\n")+"\n"+quotePO("Content-Type: text/plain; charset=UTF-8\n")+"\n"+quotePO("Content-Transfer-Encoding: 8bit\n"))
	}
	ids = slices.Clone(ids)
	slices.Sort(ids)
	n := 0
	for _, id := range slices.Compact(ids) {
		if have[id] || id == "" {
			continue
		}
		fmt.Fprintf(&b, "\nmsgid %s\nmsgstr \"\"\n", quotePO(id))
		n++
	}
	if n == 0 {
		return 0, nil
	}
	f, err := os.OpenFile(file, os.O_APPEND|os.O_CREATE|os.O_WRONLY, 0o644)
	if err != nil {
		return 0, err
	}
	_, err = f.WriteString(b.String())
	return n, errors.Join(err, f.Close())
}

// messages gives the messages that the files of a folder have, translated or not.
func messages(folder string) (map[string]bool, error) {
	all, err := entriesOf(folder)
	if err != nil {
		return nil, err
	}
	have := map[string]bool{}
	for _, e := range all {
		have[e.id] = true
	}
	return have, nil
}

// Draft makes a book of a language's folder in which what isn't translated yet is
// said in English: with it one sees what isn't in the files at all.
func Draft(folder string) (*Book, error) {
	all, err := entriesOf(folder)
	if err != nil {
		return nil, err
	}
	for i, e := range all {
		if e.str != "" && !e.fuzzy {
			continue
		}
		all[i].fuzzy = false
		all[i].str = holes.ReplaceAllStringFunc(e.id, func(h string) string {
			if h[0] == '{' {
				return "{" + itoa(parts(h)[0].n) + "}"
			}
			return h
		})
	}
	return newBook(all)
}

// Messages gives the messages of a language's folder, sorted.
func Messages(folder string) ([]string, error) {
	have, err := messages(folder)
	if err != nil {
		return nil, err
	}
	delete(have, "")
	return slices.Sorted(maps.Keys(have)), nil
}

// Pairs gives the messages of a folder that are translated, with what is said.
func Pairs(folder string) (map[string]string, error) {
	all, err := entriesOf(folder)
	if err != nil {
		return nil, err
	}
	out := map[string]string{}
	for _, e := range all {
		if e.id != "" && e.str != "" {
			out[e.id] = e.str
		}
	}
	return out, nil
}

// Template gives the messages of a folder as a PO template: without translations,
// file by file, for who begins another language.
func Template(folder string) ([]byte, error) {
	all, err := entriesOf(folder)
	if err != nil {
		return nil, err
	}
	var b strings.Builder
	b.WriteString("# The texts of Gaugewright; docs/languages.md says how they are translated.\nmsgid \"\"\nmsgstr \"\"\n")
	for _, line := range []string{"Language: \n", "X-Language-Name: \n", "MIME-Version: 1.0\n", "Content-Type: text/plain; charset=UTF-8\n", "Content-Transfer-Encoding: 8bit\n"} {
		b.WriteString(quotePO(line) + "\n")
	}
	for _, e := range all {
		if e.id == "" {
			continue
		}
		fmt.Fprintf(&b, "\n#: %s\n", strings.TrimSuffix(filepath.Base(e.file), ".po"))
		if e.context != "" {
			fmt.Fprintf(&b, "msgctxt %s\n", quotePO(e.context))
		}
		fmt.Fprintf(&b, "msgid %s\nmsgstr \"\"\n", quotePO(e.id))
	}
	return []byte(b.String()), nil
}

// entriesOf reads the files of a folder, in the order of their names.
func entriesOf(folder string) ([]entry, error) {
	names, err := filepath.Glob(filepath.Join(folder, "*.po"))
	if err != nil {
		return nil, err
	}
	var all []entry
	for _, name := range names {
		text, err := os.ReadFile(name)
		if err != nil {
			return nil, err
		}
		entries, err := parsePO(name, string(text))
		if err != nil {
			return nil, err
		}
		all = append(all, entries...)
	}
	return all, nil
}
