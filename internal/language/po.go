package language

import (
	"fmt"
	"strconv"
	"strings"
)

// entry is one message of a PO file.
type entry struct {
	file    string
	line    int
	context string
	id, str string
	fuzzy   bool
}

// parsePO reads a PO file (GNU gettext manual, "The Format of PO Files"). The
// entry with an empty msgid is the header. Obsolete entries ("#~") are comments.
// An error names file and line.
func parsePO(file, text string) ([]entry, error) {
	var out []entry
	var now entry
	var into *string
	begun, said, fuzzy := false, false, false
	end := func(line int) error {
		if !begun {
			return nil
		}
		if !said {
			return fmt.Errorf("%s:%d: the msgid %q has no msgstr", file, line, now.id)
		}
		out = append(out, now)
		now, into, begun, said = entry{}, nil, false, false
		return nil
	}
	for i, line := range strings.Split(strings.TrimPrefix(text, "\uFEFF"), "\n") {
		n := i + 1
		line = strings.TrimSpace(line)
		word, rest, _ := strings.Cut(line, " ")
		switch {
		case line == "":
			continue
		case strings.HasPrefix(line, "#"):
			if said {
				if err := end(n); err != nil {
					return nil, err
				}
			}
			if strings.HasPrefix(line, "#,") && strings.Contains(line, "fuzzy") {
				fuzzy = true
			}
			continue
		case strings.HasPrefix(line, `"`):
			if into == nil {
				return nil, fmt.Errorf("%s:%d: a text stands here that belongs to nothing; expected msgid before it", file, n)
			}
			rest = line
		case word == "msgctxt", word == "msgid":
			if said || word == "msgid" && begun && now.id != "" {
				if err := end(n); err != nil {
					return nil, err
				}
			}
			if !begun {
				now = entry{file: file, line: n, fuzzy: fuzzy}
				begun, fuzzy = true, false
			}
			into = &now.id
			if word == "msgctxt" {
				into = &now.context
			}
		case word == "msgstr":
			if !begun || said {
				return nil, fmt.Errorf("%s:%d: msgstr stands here without a msgid before it", file, n)
			}
			said, into = true, &now.str
		case word == "msgid_plural" || strings.HasPrefix(word, "msgstr["):
			return nil, fmt.Errorf("%s:%d: %s isn't read here: one and several are forms of their own, with a msgid each", file, n, word)
		default:
			return nil, fmt.Errorf("%s:%d: found %q; expected a comment, msgctxt, msgid or msgstr", file, n, clip(line))
		}
		part, err := unquotePO(rest)
		if err != nil {
			return nil, fmt.Errorf("%s:%d: %w", file, n, err)
		}
		*into += part
	}
	if err := end(strings.Count(text, "\n") + 1); err != nil {
		return nil, err
	}
	return out, nil
}

// unquotePO reads one text in double quotes with the escapes of C that gettext
// writes.
func unquotePO(s string) (string, error) {
	s = strings.TrimSpace(s)
	text, err := strconv.Unquote(s)
	if err != nil || !strings.HasPrefix(s, `"`) {
		return "", fmt.Errorf(`%q isn't a text in double quotes; expected "…" with \" and \\ inside`, clip(s))
	}
	return text, nil
}

// quotePO writes a text as PO files have it.
func quotePO(s string) string {
	return `"` + strings.NewReplacer(`\`, `\\`, `"`, `\"`, "\n", `\n`, "\t", `\t`).Replace(s) + `"`
}

// header gives the fields of a header entry by name.
func header(text string) map[string]string {
	fields := map[string]string{}
	for line := range strings.SplitSeq(text, "\n") {
		if name, value, ok := strings.Cut(line, ":"); ok {
			fields[strings.TrimSpace(name)] = strings.TrimSpace(value)
		}
	}
	return fields
}
