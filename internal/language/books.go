package language

import (
	"embed"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path"
	"slices"
	"strings"
	"sync"

	"golang.org/x/text/language"
)

//go:embed catalogues/*/*.po
var builtIn embed.FS

// Books are the languages there are besides English, by their codes.
type Books []*Book

// BuiltIn gives the languages that are in the program.
var BuiltIn = sync.OnceValues(func() (Books, error) {
	sub, err := fs.Sub(builtIn, "catalogues")
	if err != nil {
		return nil, err
	}
	return readLater(sub)
})

// Open gives the languages that are in the program and those of a folder, in
// which each file NAME.po is a language, and each folder of .po files is one in
// several files. A language of the folder takes the place of one of its code that
// is in the program. "" is no folder.
func Open(folder string) (Books, error) {
	books, err := BuiltIn()
	if err != nil || folder == "" {
		return books, err
	}
	more, err := read(os.DirFS(folder))
	if err != nil {
		return nil, fmt.Errorf("the languages in %s can't be used: %w", folder, err)
	}
	books = slices.DeleteFunc(slices.Clone(books), func(b *Book) bool {
		return slices.ContainsFunc(more, func(m *Book) bool { return m.Code() == b.Code() })
	})
	books = append(books, more...)
	slices.SortFunc(books, func(a, b *Book) int { return strings.Compare(a.Code(), b.Code()) })
	return books, nil
}

func read(files fs.FS) (Books, error) {
	list, err := fs.ReadDir(files, ".")
	if err != nil {
		return nil, err
	}
	var books Books
	var errs []error
	for _, d := range list {
		names := []string{d.Name()}
		if d.IsDir() {
			if names, err = fs.Glob(files, path.Join(d.Name(), "*.po")); err != nil {
				return nil, err
			}
		} else if path.Ext(d.Name()) != ".po" {
			continue
		}
		var entries []entry
		for _, name := range names {
			text, err := fs.ReadFile(files, name)
			if err != nil {
				return nil, err
			}
			more, err := parsePO(name, string(text))
			if err != nil {
				errs = append(errs, err)
			}
			entries = append(entries, more...)
		}
		if len(entries) == 0 {
			continue
		}
		b, err := newBook(entries)
		if err != nil {
			errs = append(errs, err)
			continue
		}
		books = append(books, b)
	}
	for i, b := range books {
		if slices.ContainsFunc(books[:i], func(a *Book) bool { return a.Code() == b.Code() }) {
			errs = append(errs, fmt.Errorf("two files are of the language %s; expected one file or one folder", b.Code()))
		}
	}
	return books, errors.Join(errs...)
}

// readLater gives the languages of files that are in the program: their headers, and
// their messages once they are wanted.
func readLater(files fs.FS) (Books, error) {
	list, err := fs.ReadDir(files, ".")
	if err != nil {
		return nil, err
	}
	var books Books
	for _, d := range list {
		if !d.IsDir() {
			continue
		}
		names, err := fs.Glob(files, path.Join(d.Name(), "*.po"))
		if err != nil {
			return nil, err
		}
		var heads []entry
		for _, name := range names {
			text, err := fs.ReadFile(files, name)
			if err != nil {
				return nil, err
			}
			head, _, _ := strings.Cut(string(text), "\n\n") // entries are parted by an empty line
			entries, err := parsePO(name, head)
			if err != nil {
				return nil, err
			}
			heads = append(heads, entries...)
		}
		if len(heads) == 0 {
			continue
		}
		b, err := newBook(heads)
		if err != nil {
			return nil, err
		}
		folder, err := fs.Sub(files, d.Name())
		if err != nil {
			return nil, err
		}
		b.later = func() (*Book, error) {
			all, err := readFolder(folder)
			if err != nil {
				return nil, err
			}
			return newBook(all)
		}
		books = append(books, b)
	}
	return books, nil
}

// readFolder gives the entries of all files of a folder.
func readFolder(folder fs.FS) ([]entry, error) {
	names, err := fs.Glob(folder, "*.po")
	if err != nil {
		return nil, err
	}
	var all []entry
	for _, name := range names {
		text, err := fs.ReadFile(folder, name)
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

// Parse makes a book of the text of one PO file.
func Parse(name, text string) (*Book, error) {
	entries, err := parsePO(name, text)
	if err != nil {
		return nil, err
	}
	return newBook(entries)
}

// Find gives the book of a code; nil, without error, for English, and an error
// that lists what there is for a code that isn't there.
func (bs Books) Find(code string) (*Book, error) {
	if code == "" || code == "en" {
		return nil, nil
	}
	known := []string{"en"}
	for _, b := range bs {
		if strings.EqualFold(b.Code(), code) {
			return b, nil
		}
		known = append(known, b.Code())
	}
	return nil, fmt.Errorf("the language %q isn't here; expected one of %s", clip(code), strings.Join(known, ", "))
}

// Choose gives the book that fits a browser's Accept-Language best (RFC 9110,
// 12.5.4); nil for English, which is also the answer to what can't be read.
func (bs Books) Choose(accept string) *Book {
	if accept == "" || len(bs) == 0 {
		return nil
	}
	tags := []language.Tag{language.English}
	for _, b := range bs {
		tags = append(tags, b.tag)
	}
	asked, _, err := language.ParseAcceptLanguage(accept)
	if err != nil || len(asked) == 0 {
		return nil
	}
	if _, i, sure := language.NewMatcher(tags).Match(asked...); i > 0 && sure >= language.High {
		return bs[i-1]
	}
	return nil
}
