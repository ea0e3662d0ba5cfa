package web

import (
	"net/url"
	"strings"
	"unicode"

	"gaugewright/internal/job"
)

// baseName gives the last part of a file's name, whichever way its folders are
// parted.
func baseName(name string) string {
	if i := strings.LastIndexAny(name, `/\`); i >= 0 {
		name = name[i+1:]
	}
	return name
}

// attachment names the file that a browser is to save.
func attachment(j *job.Job, ending string) string { return disposition("attachment", j, ending) }

// disposition names a file that a browser is to save ("attachment") or to show
// ("inline"), twice (RFC 6266): in plain letters for any of them, and in the
// job's own (RFC 8187).
func disposition(kind string, j *job.Job, ending string) string {
	own := fileName(j)
	plain := strings.Map(func(r rune) rune {
		switch {
		case r < 0x80 && (unicode.IsLetter(r) || unicode.IsDigit(r) || r == '-' || r == '.'):
			return r
		}
		return '-'
	}, own)
	plain = strings.Trim(squeezed(plain), "-.")
	if plain == "" {
		plain = "job"
	}
	if own == "" {
		own = plain
	}
	// What url.PathEscape leaves as it is and RFC 8187 doesn't take.
	escaped := strings.NewReplacer("@", "%40", ":", "%3A", "=", "%3D", "&", "%26", "+", "%2B", "$", "%24").Replace(url.PathEscape(own + ending))
	return kind + `; filename="` + plain + ending + `"; filename*=UTF-8''` + escaped
}

// fileName gives a name from customer and number that any file system takes:
// no signs that steer, turn round or part folders, and not too long.
func fileName(j *job.Job) string {
	parts := []string{cutTo(j.Customer, 40), cutTo(j.Number, 40)}
	name := strings.Map(func(r rune) rune {
		switch {
		case unicode.IsControl(r), unicode.In(r, unicode.Cf, unicode.Zl, unicode.Zp), strings.ContainsRune(`<>:"/\|?*'%;`, r):
			return '-'
		case unicode.IsSpace(r):
			return '-'
		}
		return r
	}, strings.Join(parts, " "))
	return strings.Trim(squeezed(name), "-.")
}

// squeezed makes runs of dashes one.
func squeezed(s string) string {
	for strings.Contains(s, "--") {
		s = strings.ReplaceAll(s, "--", "-")
	}
	return s
}
