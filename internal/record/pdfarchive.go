package record

import (
	"bytes"
	"crypto/sha256"
	"errors"
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"
)

// object is one object of a PDF: what stands before its stream, if it has one.
type object struct {
	head   []byte
	stream []byte // nil: none
}

var errUnread = errors.New("the PDF isn't built as its writer builds it")

// archival makes of a finished PDF one that keeps to ISO 19005-2 at level B. What
// the writer of PDF leaves out or does otherwise is put right in the objects, and
// the table of where they are is written anew:
//
//   - the file has an identifier, worked out from its content;
//   - links say that they are printed (6.3.2 of the standard, from memory);
//   - a font of which only a part is in the file says so in its name
//     (ISO 32000-1, 9.6.4), and its way back to Unicode has no zero in it and no
//     range over more than one first byte;
//   - fonts come without a table that they don't need;
//   - dates are in UTC, or left out where no time is stated;
//   - what is empty (embedded files, counts, groups of transparency) is left out.
//
// It reads no other PDF than that of the writer, whose objects are searched for
// what it writes; text of the job stands in objects that aren't searched.
func archival(data []byte, d description) ([]byte, error) {
	objects, root, err := objectsOf(data)
	if err != nil {
		return nil, err
	}
	unicode, info := 0, 0
	for n := range objects {
		o := &objects[n]
		switch {
		case bytes.HasPrefix(o.head, []byte("<<\n/Producer (")):
			info = n // the trailer names another, where there is a profile of colours
		case bytes.HasPrefix(o.head, []byte("<</Type /Page\n")):
			o.head = bytes.ReplaceAll(o.head, []byte("/Subtype /Link "), []byte("/Subtype /Link /F 4 "))
			o.head = bytes.ReplaceAll(o.head, []byte("/Group <</Type /Group /S /Transparency /CS /DeviceRGB>>\n"), nil)
		case bytes.HasPrefix(o.head, []byte("<</Title (")):
			if rest, ok := bytes.CutSuffix(o.head, []byte("\n/Count 0>>\n")); ok {
				o.head = append(slices.Clone(rest), ">>\n"...)
			}
		case bytes.Contains(o.head, []byte("/Length1 ")):
			if *o, err = withoutMap(*o); err != nil {
				return nil, err
			}
		case bytes.HasPrefix(o.head, []byte("<</Type /Font\n/Subtype /Type0\n")):
			m := regexp.MustCompile(`/ToUnicode (\d+) 0 R`).FindSubmatch(o.head)
			if m == nil {
				return nil, errUnread
			}
			if unicode, err = strconv.Atoi(string(m[1])); err != nil || unicode >= len(objects) {
				return nil, errUnread
			}
			if objects[unicode], err = toUnicode(); err != nil {
				return nil, err
			}
		}
	}
	if unicode == 0 || info == 0 {
		return nil, errUnread
	}
	tagFonts(objects)
	before, _, ok := bytes.Cut(objects[info].head, []byte("\n/CreationDate "))
	if !ok {
		return nil, errUnread
	}
	objects[info].head = fmt.Appendf(nil, "%s\n%s>>\n", before, d.dates())
	before, _, ok = bytes.Cut(objects[root].head, []byte("/Names <<"))
	if !ok {
		return nil, errUnread
	}
	objects[root].head = append(slices.Clone(before), ">>\n"...)
	return written(objects, root, info), nil
}

// objectsOf reads the objects by the table at the end of the file. Where an
// object ends is known by where the next begins, so nothing in a stream can be
// taken for an end.
func objectsOf(data []byte) (objects []object, root int, err error) {
	at := bytes.LastIndex(data, []byte("startxref\n"))
	var table, size int
	if at < 0 {
		return nil, 0, errUnread
	}
	if _, err := fmt.Sscanf(string(data[at:]), "startxref\n%d\n", &table); err != nil || table < 0 || table >= at {
		return nil, 0, errUnread
	}
	if _, err := fmt.Sscanf(string(data[table:min(len(data), table+40)]), "xref\n0 %d\n", &size); err != nil || size < 1 || size > len(data)/20 {
		return nil, 0, errUnread
	}
	rows := data[table+len(fmt.Sprintf("xref\n0 %d\n", size)):]
	if len(rows) < 20*size {
		return nil, 0, errUnread
	}
	starts := make([]int, size)
	for n := 1; n < size; n++ {
		if starts[n], err = strconv.Atoi(string(rows[20*n : 20*n+10])); err != nil || starts[n] > table {
			return nil, 0, errUnread
		}
	}
	trailer := rows[20*size:]
	if _, err := fmt.Sscanf(string(trailer), "trailer\n<<\n/Size "+strconv.Itoa(size)+"\n/Root %d 0 R\n", &root); err != nil || root < 1 || root >= size {
		return nil, 0, errUnread
	}
	order := append(slices.Clone(starts[1:]), table)
	slices.Sort(order)
	objects = make([]object, size)
	for n := 1; n < size; n++ {
		i, _ := slices.BinarySearch(order, starts[n])
		body, ok := bytes.CutPrefix(data[starts[n]:order[i+1]], fmt.Appendf(nil, "%d 0 obj\n", n))
		if body, ok2 := bytes.CutSuffix(body, []byte("endobj\n")); !ok || !ok2 {
			return nil, 0, errUnread
		} else if inner, streams := bytes.CutSuffix(body, []byte("\nendstream\n")); streams {
			head, stream, ok := bytes.Cut(inner, []byte("\nstream\n"))
			if !ok {
				return nil, 0, errUnread
			}
			objects[n] = object{append(slices.Clone(head), '\n'), stream}
		} else {
			objects[n] = object{head: body}
		}
	}
	return objects, root, nil
}

// fontName is what the writer calls a font: its family, and B for bold.
var fontName = regexp.MustCompile(`/(BaseFont|FontName) /utf8` + strings.ToLower(family) + `(B?)\b`)

// tagFonts puts a tag of six letters before the names of fonts, from what is in
// the files of both, so that two subsets aren't taken for one.
func tagFonts(objects []object) {
	sum := sha256.New()
	for _, o := range objects {
		if bytes.Contains(o.head, []byte("/Length1 ")) {
			sum.Write(o.stream)
		}
	}
	tag := make([]byte, 6)
	for i, b := range sum.Sum(nil)[:6] {
		tag[i] = 'A' + b%26
	}
	for n := range objects {
		o := &objects[n]
		if bytes.HasPrefix(o.head, []byte("<</Type /Font")) { // and /FontDescriptor
			name := fmt.Sprintf("/$1 /%s+%s", tag, family)
			o.head = fontName.ReplaceAllFunc(o.head, func(m []byte) []byte {
				out := fontName.ReplaceAll(m, []byte(name))
				if bytes.HasSuffix(m, []byte("B")) {
					out = append(out, "-Bold"...)
				}
				return out
			})
		}
	}
}

// toUnicode is the way back from what text is written in, which is UTF-16
// itself, to Unicode: a range for each first byte, as a range may not have two
// (Adobe Technical Note 5411; from memory).
func toUnicode() (object, error) {
	var b bytes.Buffer
	b.WriteString("/CIDInit /ProcSet findresource begin\n12 dict begin\nbegincmap\n/CIDSystemInfo <</Registry (Adobe) /Ordering (UCS) /Supplement 0>> def\n/CMapName /Adobe-Identity-UCS def\n/CMapType 2 def\n1 begincodespacerange\n<0000> <FFFF>\nendcodespacerange\n")
	var first []int
	for i := range 0x100 {
		if i < 0xD8 || i > 0xDF { // those are halves of characters
			first = append(first, i)
		}
	}
	for part := range slices.Chunk(first, 100) {
		fmt.Fprintf(&b, "%d beginbfrange\n", len(part))
		for _, i := range part {
			from, to := 0, 0xFF
			switch i {
			case 0:
				from = 0x20
			case 0xFE:
				to = 0xFE // U+FEFF marks the order of bytes
			case 0xFF:
				to = 0xFD // what follows are no characters
			}
			fmt.Fprintf(&b, "<%02X%02X> <%02X%02X> <%02X%02X>\n", i, from, i, to, i, from)
		}
		b.WriteString("endbfrange\n")
	}
	b.WriteString("endcmap\nCMapName currentdict /CMap defineresource pop\nend\nend")
	packed, err := deflated(b.Bytes())
	return object{fmt.Appendf(nil, "<</Filter /FlateDecode /Length %d>>\n", len(packed)), packed}, err
}

// written puts the objects into a file, each under the number it had.
func written(objects []object, root, info int) []byte {
	var b bytes.Buffer
	b.WriteString("%PDF-1.7\n%\xE2\xE3\xCF\xD3\n") // bytes beyond 127: it isn't text
	starts := make([]int, len(objects))
	for n := 1; n < len(objects); n++ {
		starts[n] = b.Len()
		fmt.Fprintf(&b, "%d 0 obj\n%s", n, objects[n].head)
		if objects[n].stream != nil {
			b.WriteString("stream\n")
			b.Write(objects[n].stream)
			b.WriteString("\nendstream\n")
		}
		b.WriteString("endobj\n")
	}
	id := sha256.Sum256(b.Bytes())
	table := b.Len()
	fmt.Fprintf(&b, "xref\n0 %d\n0000000000 65535 f \n", len(objects))
	for _, s := range starts[1:] {
		fmt.Fprintf(&b, "%010d 00000 n \n", s)
	}
	fmt.Fprintf(&b, "trailer\n<<\n/Size %d\n/Root %d 0 R\n/Info %d 0 R\n/ID [<%X> <%X>]\n>>\nstartxref\n%d\n%%%%EOF\n", len(objects), root, info, id[:16], id[:16], table)
	return b.Bytes()
}
