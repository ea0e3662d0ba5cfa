package record

import (
	"bytes"
	"encoding/xml"
	"fmt"
	"strings"
	"time"
)

// description is what the file says of itself, once in its information
// dictionary and once in its metadata, where both must be the same.
type description struct {
	title, subject, author, keywords string
	made                             time.Time // zero: not stated
}

// maker is the program that writes the file.
const maker = "Gaugewright"

// xmp is the description as a packet of metadata (ISO 16684-1), which also says
// that the file follows ISO 19005-2 at level B.
func (d description) xmp() []byte {
	var b bytes.Buffer
	b.WriteString("<?xpacket begin=\"\uFEFF\" id=\"W5M0MpCehiHzreSzNTczkc9d\"?>\n" +
		`<x:xmpmeta xmlns:x="adobe:ns:meta/"><rdf:RDF xmlns:rdf="http://www.w3.org/1999/02/22-rdf-syntax-ns#">` + "\n" +
		`<rdf:Description rdf:about="" xmlns:pdfaid="http://www.aiim.org/pdfa/ns/id/" xmlns:dc="http://purl.org/dc/elements/1.1/" xmlns:xmp="http://ns.adobe.com/xap/1.0/" xmlns:pdf="http://ns.adobe.com/pdf/1.3/">` + "\n" +
		"<pdfaid:part>2</pdfaid:part><pdfaid:conformance>B</pdfaid:conformance>\n<dc:format>application/pdf</dc:format>\n")
	put := func(format, value string) {
		if value != "" {
			fmt.Fprintf(&b, format+"\n", escaped(value))
		}
	}
	put(`<dc:title><rdf:Alt><rdf:li xml:lang="x-default">%s</rdf:li></rdf:Alt></dc:title>`, d.title)
	put(`<dc:description><rdf:Alt><rdf:li xml:lang="x-default">%s</rdf:li></rdf:Alt></dc:description>`, d.subject)
	put(`<dc:creator><rdf:Seq><rdf:li>%s</rdf:li></rdf:Seq></dc:creator>`, d.author)
	put(`<pdf:Keywords>%s</pdf:Keywords>`, d.keywords)
	put(`<pdf:Producer>%s</pdf:Producer>`, maker)
	put(`<xmp:CreatorTool>%s</xmp:CreatorTool>`, maker)
	if !d.made.IsZero() {
		at := d.made.UTC().Format(time.RFC3339)
		put(`<xmp:CreateDate>%s</xmp:CreateDate>`, at)
		put(`<xmp:ModifyDate>%s</xmp:ModifyDate>`, at)
	}
	b.WriteString("</rdf:Description></rdf:RDF></x:xmpmeta>\n<?xpacket end=\"r\"?>")
	return b.Bytes()
}

// escaped is a text for XML.
func escaped(s string) string {
	var b strings.Builder
	_ = xml.EscapeText(&b, []byte(s)) // a builder takes all
	return b.String()
}

// dates are the times of the information dictionary (ISO 32000-1, 7.9.4), in UTC
// so that they are the same wherever the file is made.
func (d description) dates() string {
	if d.made.IsZero() {
		return ""
	}
	at := d.made.UTC().Format("20060102150405")
	return fmt.Sprintf("/CreationDate (D:%sZ)\n/ModDate (D:%sZ)\n", at, at)
}
