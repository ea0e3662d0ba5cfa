package language_test

import (
	"flag"
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"maps"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"unicode"

	"gaugewright/internal/language"
)

var fill = flag.Bool("fill", false, "add what the German lacks to catalogues/de, without a translation, one file for each room")

// speaking are the rooms whose words people read on pages and records. What only a
// shell shows stays English.
var speaking = strings.Fields("alarm circuit contents curve docket doubt drift finding flow gauge history job kin lookup notice outlook quantity readings record scale sitting span strict tag tank tankfile telling chart web")

// telling are rooms that for the most part speak to a shell and a log, and whose
// notes people read on pages: what stands in functions that tell some, and in
// those that word a part of one.
var telling = map[string]*regexp.Regexp{
	"station":      regexp.MustCompile(`^(leftovers|Lost|Standing|found)$`),
	"store/sqlite": regexp.MustCompile(`^(newestBackup|damage)$`),
}

// tells says whether a function tells people a note.
func tells(f *ast.FuncDecl) bool {
	found := false
	ast.Inspect(f, func(node ast.Node) bool {
		if s, ok := node.(*ast.SelectorExpr); ok {
			switch s.Sel.Name {
			case "noted", "itself", "notes", "repairs", "keepGoing":
				found = true
			}
		}
		return !found
	})
	return found
}

// kept are files whose errors are of what is kept of a tank, and go to the log, or of
// a file that is read by a command.
var kept = map[string]bool{"../flow/state.go": true, "../outlook/state.go": true, "../docket/read.go": true}

// silentCalls are what is called with texts that nobody reads.
var silentCalls = regexp.MustCompile(`^(regexp|slog|template|url|path|filepath|os|http|sql|flag|hex|base64|xml|utf8|unicode|embed)\.|^(panic|must|field|notFoundText)$|\.(Handle|HandleFunc|Set|Get|Add|Del|Debug|Info|Warn|Error|Header|Query|FormValue|PostFormValue|HasPrefix|HasSuffix|Contains|ContainsAny|ContainsRune|Index|IndexAny|Cut|CutPrefix|CutSuffix|Split|SplitSeq|Trim|TrimLeft|TrimRight|TrimPrefix|TrimSuffix|Replace|ReplaceAll|Fields|EqualFold|NewReplacer|Format|Parse|WriteString|Write|Fprintf|Fprint|Fprintln|Lookup|Elem|AddResource|Compile)$`)

var verb = regexp.MustCompile(`%(?:%|[-+# 0]*(?:\[[0-9]+\])?(?:[0-9]+|\*)?(?:\.(?:[0-9]+|\*))?([a-zA-Z]))`)

// forms finds the sentence forms in the text of one file.
type forms struct {
	found map[string]token.Position
	set   *token.FileSet
}

// text gives the form of an expression that makes a text; false where it is none.
func text(e ast.Expr, n *int) (string, bool) {
	switch e := e.(type) {
	case *ast.BasicLit:
		if e.Kind == token.STRING {
			s, err := strconv.Unquote(e.Value)
			return s, err == nil
		}
	case *ast.ParenExpr:
		return text(e.X, n)
	case *ast.BinaryExpr:
		if e.Op != token.ADD {
			return "", false
		}
		a, okA := text(e.X, n)
		if !okA {
			a = hole(n, "")
		}
		b, okB := text(e.Y, n)
		if !okB {
			b = hole(n, "")
		}
		return a + b, okA || okB
	case *ast.CallExpr:
		name := calls(e)
		if name == "d.say" && len(e.Args) > 1 { // what differs between two jobs, in a tank unless a place is made for it
			of := ""
			if _, made := e.Args[0].(*ast.CompositeLit); !made {
				of = hole(n, "own") + ": "
			}
			if s, ok := text(e.Args[1], n); ok {
				return of + formatted(s, n) + ".", true
			}
			return "", false
		}
		if (name == "fmt.Sprintf" || name == "fmt.Errorf" || name == "errors.New" || formatter.MatchString(name)) && len(e.Args) > 0 {
			s, ok := text(e.Args[0], n)
			if !ok || name == "errors.New" {
				return s, ok
			}
			return formatted(s, n), true
		}
	}
	return "", false
}

// formatted gives the form of a format: its verbs are holes.
func formatted(s string, n *int) string {
	return verb.ReplaceAllStringFunc(s, func(v string) string {
		switch v[len(v)-1] {
		case '%':
			return "%"
		case 'd', 'g', 'f', 'e':
			return hole(n, "number")
		case 'q':
			return `"` + hole(n, "own") + `"`
		}
		return hole(n, "")
	})
}

// formatter are the rooms' own functions that take a format first.
var formatter = regexp.MustCompile(`(^|\.)(note|doubt|bad|[a-z]*f)$`)

func hole(n *int, kind string) string {
	*n++
	if kind != "" {
		kind = ":" + kind
	}
	return fmt.Sprintf("{%d%s}", *n, kind)
}

func calls(e *ast.CallExpr) string {
	switch f := e.Fun.(type) {
	case *ast.Ident:
		return f.Name
	case *ast.SelectorExpr:
		if x, ok := f.X.(*ast.Ident); ok {
			return x.Name + "." + f.Sel.Name
		}
		return "." + f.Sel.Name
	}
	return ""
}

func (f *forms) walk(node ast.Node) {
	ast.Inspect(node, func(node ast.Node) bool {
		switch node := node.(type) {
		case *ast.ImportSpec, *ast.CaseClause:
			if c, ok := node.(*ast.CaseClause); ok {
				for _, s := range c.Body {
					f.walk(s)
				}
			}
			return false
		case *ast.Field:
			return false
		case *ast.CallExpr:
			name := calls(node)
			if silentCalls.MatchString(name) && name != "fmt.Sprintf" && name != "fmt.Errorf" {
				return false
			}
		case *ast.BinaryExpr:
			if node.Op == token.EQL || node.Op == token.NEQ {
				return false
			}
		case *ast.FuncLit:
			return true
		case *ast.FuncDecl:
			if node.Body != nil {
				f.walk(node.Body)
			}
			return false
		}
		e, ok := node.(ast.Expr)
		if !ok {
			return true
		}
		n := 0
		s, ok := text(e, &n)
		if !ok {
			return true
		}
		if speaks(s) {
			if _, was := f.found[s]; !was {
				f.found[s] = f.set.Position(e.Pos())
			}
		}
		// What stands in its holes may speak as well.
		if c, ok := e.(*ast.CallExpr); ok {
			for _, a := range c.Args[1:] {
				f.walk(a)
			}
		}
		if b, ok := e.(*ast.BinaryExpr); ok {
			f.inside(b)
		}
		return false
	})
}

// inside walks what a sum of texts has besides texts.
func (f *forms) inside(b *ast.BinaryExpr) {
	for _, e := range []ast.Expr{b.X, b.Y} {
		if c, ok := e.(*ast.BinaryExpr); ok {
			f.inside(c)
		} else if _, ok := text(e, new(int)); !ok {
			f.walk(e)
		}
	}
}

var (
	notSpeech = regexp.MustCompile(`[\x00-\x1f<>\\@{}#$&*|]|://|\.(go|json|csv|js|css)\b|[a-z]_[a-z]|^[a-z-]+/|%[a-z]|^--|[a-z]=|\n|^\s|^[,;:.)]|(^| )(of|and|at|on|to|by|for|the|a|is|are|in|with|or|from|than|as)\s*$|\s$|\($|^(GET|POST|SELECT|INSERT|DELETE) `)
	anyHole   = regexp.MustCompile(`\{[0-9]+(:[a-z]+)?\}`)
)

// speaks says whether a form is words for people: two words or more, or a hole
// with a word.
func speaks(s string) bool {
	bare := anyHole.ReplaceAllString(s, "7")
	if notSpeech.MatchString(bare) || strings.Contains(s, "}{") {
		return false
	}
	words := strings.FieldsFunc(bare, func(r rune) bool { return unicode.IsSpace(r) })
	real := 0
	for _, w := range words {
		if len(strings.TrimFunc(w, func(r rune) bool { return !unicode.IsLetter(r) })) >= 3 {
			real++
		}
	}
	return len(words) >= 2 && real >= 1
}

// harvest finds the forms of a room, with where each stands.
func harvest(t *testing.T, room string) map[string]token.Position {
	t.Helper()
	names, err := filepath.Glob("../" + room + "/*.go")
	if err != nil || len(names) == 0 {
		t.Fatalf("no files in the room %s, %v", room, err)
	}
	f := &forms{found: map[string]token.Position{}, set: token.NewFileSet()}
	for _, name := range names {
		if strings.HasSuffix(name, "_test.go") || kept[name] {
			continue
		}
		file, err := parser.ParseFile(f.set, name, nil, parser.SkipObjectResolution)
		if err != nil {
			t.Fatal(err)
		}
		words, partly := telling[room]
		if !partly {
			f.walk(file)
			continue
		}
		for _, d := range file.Decls {
			if d, ok := d.(*ast.FuncDecl); ok && (words.MatchString(d.Name.Name) || tells(d)) {
				f.walk(d)
			}
		}
	}
	return f.found
}

// The German has every sentence form that the rooms speak. With -fill what it
// lacks is added to its files, to be translated.
func TestGermanSpeaksEveryForm(t *testing.T) {
	books, err := language.BuiltIn()
	if err != nil {
		t.Fatal(err)
	}
	b, err := books.Find("de")
	if err != nil {
		t.Fatal(err)
	}
	all := 0
	for _, room := range slices.Concat(speaking, slices.Sorted(maps.Keys(telling))) {
		found := harvest(t, room)
		all += len(found)
		var lacking []string
		for form := range found {
			if !b.Covers("", form) && !allowed[form] {
				lacking = append(lacking, form)
			}
		}
		slices.Sort(lacking)
		if *fill {
			parts := map[string][]string{}
			for _, form := range lacking {
				part := partOf(room, found[form].Filename)
				parts[part] = append(parts[part], form)
			}
			for part, list := range parts {
				n, err := language.Fill("catalogues/de", part, list)
				if err != nil {
					t.Fatal(err)
				}
				t.Logf("%s: %d added", part, n)
			}
		}
		for i, form := range lacking {
			if i == 5 {
				t.Errorf("%s: and %d more; -fill adds all to catalogues/de/%s.po", room, len(lacking)-i, room)
				break
			}
			t.Errorf("%v: the German lacks %q", found[form], form)
		}
	}
	if all < 500 {
		t.Errorf("%d forms were found in all; expected more than 500", all)
	}
}

// partOf names the file that a form belongs into: one for each room, and for the
// pages one for each of the larger.
func partOf(room, file string) string {
	if _, partly := telling[room]; partly {
		return "station"
	}
	if room != "web" {
		return room
	}
	name := strings.TrimSuffix(filepath.Base(file), ".go")
	for _, page := range []string{"bench", "card", "contents", "curve", "jobs", "meter", "prove", "set", "tank", "watched", "words"} {
		if strings.HasPrefix(name, page) && name != "setting" {
			return "web-" + page
		}
	}
	return "web"
}

// allowed are texts that look like sentences and that nobody reads on a page: they
// are names of formats, or say that the program itself is broken.
var allowed = map[string]bool{
	"sRGB, IEC 61966-2-1":                                                 true, // in the PDF's colour profile, as is the next
	"No copyright, use freely":                                            true,
	"the PDF isn't built as its writer builds it":                         true,
	"the font has no table of Unicode characters in format 4, or no size": true,
	"the font of {1:number} bytes is cut short or no TrueType font":       true,
	"an embedded font can't be read: {1}":                                 true,
	"the id prefix \"{1:own}\" can't be used; expected a small letter, then small letters, digits and hyphens":                        true,
	"'DIN Alternate', Bahnschrift, 'Roboto Condensed', 'Arial Narrow', 'Liberation Sans Narrow', 'DejaVu Sans Condensed', sans-serif": true,
	"{1:own}: read again in service{2}: {3}.":   true, // said with a day, a name, both and neither
	"Nothing is left{1}":                        true, // said whole, with each way of saying by when to act
	"No room is left{1}":                        true,
	"It can't be told yet how long it lasts{1}": true,
	"PRIVATE KEY":                               true, // in files of keys
	"PUBLIC KEY":                                true,
	"default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; connect-src 'self'; font-src 'self'; frame-src 'self'; manifest-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'self'": true, // for the browser
	"the record has no style element":       true, // the program itself would be broken, as with the next
	"the pages of the watch ended: {1}":     true, // the program ends then
	"hot row {1:number}":                    true, // for the log, of a file of another form
	"web: there is no store of jobs":        true,
	"web: there is nothing that is watched": true,
}
