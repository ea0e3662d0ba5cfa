package web

import (
	"bytes"
	"context"
	"encoding/base64"
	"encoding/binary"
	"errors"
	"image"
	"image/color"
	"image/jpeg"
	"image/png"
	"mime/multipart"
	"net/http"
	"regexp"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"gaugewright/internal/docket"
	"gaugewright/internal/doors"
	"gaugewright/internal/quantity"
)

// brings posts a receipt with a picture.
func (b *bench) brings(path string, photo []byte, fields ...string) (int, string) {
	b.t.Helper()
	var body bytes.Buffer
	w := multipart.NewWriter(&body)
	for i := 0; i+1 < len(fields); i += 2 {
		_ = w.WriteField(fields[i], fields[i+1])
	}
	if photo != nil {
		part, err := w.CreateFormFile("photo", "IMG_0001.jpg")
		if err != nil {
			b.t.Fatal(err)
		}
		_, _ = part.Write(photo)
	}
	w.Close()
	return b.answer(http.Post(b.url+path, w.FormDataContentType(), &body))
}

// At the pump the filling that was just seen stands on top and is chosen; a receipt is
// kept with it, once, and what came of it stands there.
func TestDocketEntry(t *testing.T) {
	w, book := atPump(t)
	b := open(t, w.options)
	status, text := b.get("/left/gas/docket")
	for _, want := range []string{
		"The sender saw 31 L (29.5 to 32.5) come in, 2 Nov, 09:21 to 09:28.", `value="is-2025-11-02T09:28:00Z" checked`, "25 Oct, 09:30 to 09:36: 40 %", `value="is-L" checked`,
		"The pump stopped by itself", "US gallons", "imperial gallons", `capture="environment"`, "Nothing yet: no receipt counts so far.", "Never fill beyond the permitted fill",
	} {
		if status != 200 || !strings.Contains(text, want) {
			t.Errorf("%d: the page doesn't say %q", status, want)
		}
	}
	for range 2 { // sent twice, as on a bad line
		status, text = b.post("/left/gas/docket", "key", "K1", "form", "receipt", "amount", "31,0", "unit", "L", "stopped", "yes", "when", "is-2025-11-02T09:28:00Z", "at", "", "note", "pump 2")
	}
	if status != 200 || !strings.Contains(text, "Kept.") || !strings.Contains(text, "they agree") {
		t.Fatal(status, text)
	}
	if len(book.kept) != 1 || book.entered != 1 {
		t.Fatalf("kept %d times", len(book.kept))
	}
	d := book.kept[0]
	if d.Time != sunday.Add(-2*time.Minute) || d.Litres != 31 || d.Kilograms != 0 || !d.Stopped || d.Typed != "31,0 L" || d.Note != "pump 2" || d.Kind != docket.Receipt || d.Tank != "gas" || d.Entered != sunday || d.ID != "K1" || d.Photo != "" {
		t.Errorf("%+v", d)
	}
	if status, text = b.get("/left/gas"); status != 200 || !strings.Contains(text, `href="/left/gas/docket"`) {
		t.Error("nothing leads there from the tank's page")
	}
}

// Where nothing is kept, or nothing comes in by a pump, there is no such page.
func TestDocketNowhere(t *testing.T) {
	if status, _ := open(t, stall(t).options).get("/left/gas/docket"); status != 404 {
		t.Error(status)
	}
	if _, text := open(t, goingOn(t).options).get("/left/gas"); strings.Contains(text, "/docket") {
		t.Error("the tank's page leads to what isn't there")
	}
	w, _ := atPump(t)
	w.labels[1].Contents = "waste"
	b := open(t, w.options)
	for _, path := range []string{"/left/fresh/docket", "/left/rum/docket", "/left/gas/docket/none", "/left/gas/docket/none/photo"} {
		if status, _ := b.get(path); status != 404 {
			t.Errorf("%s: %d", path, status)
		}
	}
	if _, text := b.get("/left/diesel/docket"); strings.Contains(text, "stopped by itself") || strings.Contains(text, "kilograms") {
		t.Error("a tank of fuel is asked for what only a gas tank has")
	}
}

// What can't be used is told at its field, and nothing that was typed is lost; nor is
// the picture.
func TestDocketRefused(t *testing.T) {
	w, book := atPump(t)
	b := open(t, w.options)
	for _, c := range []struct{ fields, says string }{
		{"amount=7.4 gal&unit=L", "Which gallon is it?"},
		{"amount=7.4 gallons&unit=kg", "Which gallon is it?"},
		{"amount=&unit=L", "No amount was given"},
		{"amount=lots&unit=L", "is no amount; expected such as 31.4"},
		{"amount=-3&unit=L", "has to be above 0"},
		{"amount=0&unit=L", "has to be above 0"},
		{"amount=1e9&unit=L", "more than 100000"},
		{"amount=900000&unit=L", "more than 100000"},
		{"amount=31&unit=hogshead", "Choose the unit"},
		{"amount=31&unit=L&when=at&at=", "found no day and time"},
		{"amount=31&unit=L&when=at&at=2031-01-01T10:00", "lies ahead"},
		{"amount=31&unit=L&when=at&at=1970-01-01T10:00", "before 1990"},
		{"amount=31&unit=L&when=yesterday", "choose when it was"},
		{"amount=31&unit=L&note=" + strings.Repeat("x", 301), "301 characters"},
		{"form=other&what=", "Choose what it was"},
		{"form=other&what=receipt", "Choose what it was"},
		{"form=other&what=weighed&weight=heavy", "is no weight"},
		{"form=other&what=weighed&weight=0", "above 0"},
	} {
		fields := []string{"key", "K9", "form", "receipt", "note", "by the ring road"}
		for pair := range strings.SplitSeq(c.fields, "&") {
			name, value, _ := strings.Cut(pair, "=")
			for i := 0; i+1 < len(fields); i += 2 {
				if fields[i] == name {
					fields[i+1] = value
					name = ""
				}
			}
			if name != "" {
				fields = append(fields, name, value)
			}
		}
		status, text := b.post("/left/gas/docket", fields...)
		if status != 422 || !strings.Contains(strings.ToLower(text), strings.ToLower(c.says)) || !strings.Contains(text, `class="fault"`) || !strings.Contains(text, "aria-invalid") && !strings.Contains(text, "bad-field") {
			t.Errorf("%s: %d, and it isn't said that %q", c.fields, status, c.says)
		}
		for i := 0; i+1 < len(fields); i += 2 {
			if v := fields[i+1]; v != "" && !strings.Contains(text, `value="`+v+`"`) && !strings.Contains(text, `value="is-`+v+`"`) && fields[i] != "what" && v != "hogshead" && v != "yesterday" {
				t.Errorf("%s: %s=%q was lost", c.fields, fields[i], v)
			}
		}
	}
	if book.entered != 0 {
		t.Error("something was kept")
	}
	status, text := b.brings("/left/gas/docket", picture(t, 90, 60), "key", "K2", "form", "receipt", "amount", "7.4 gal", "unit", "L", "when", "now")
	held := regexp.MustCompile(`name="held" value="([^"]+)"`).FindStringSubmatch(text)
	if status != 422 || held == nil {
		t.Fatal(status, "the picture was lost")
	}
	status, text = b.brings("/left/gas/docket", nil, "key", "K2", "form", "receipt", "amount", "7.4 gal", "unit", "US gal", "when", "now", "held", strings.ReplaceAll(held[1], "&#43;", "+"))
	if status != 200 || len(book.kept) != 1 || book.kept[0].Typed != "7.4 US gal" || len(book.photos["K2"]) == 0 {
		t.Fatalf("%d %+v\n%s", status, book.kept, text)
	}
	if v := book.kept[0].Litres; v < 28.011 || v > 28.013 { // 7.4 × 3.785411784 L
		t.Error(v)
	}
	book.refuse = errors.New("the disk is full")
	if status, text = b.post("/left/gas/docket", "key", "K3", "amount", "12", "unit", "L", "when", "now"); status != 422 || !strings.Contains(text, `value="12"`) || !strings.Contains(text, "The disk is full.") {
		t.Error(status, text)
	}
	book.broken = errors.New("damaged")
	if status, _ = b.get("/left/gas/docket"); status != 503 {
		t.Error(status)
	}
}

// Other moments are evidence too.
func TestDocketMoments(t *testing.T) {
	w, book := atPump(t)
	w.labels[0].Units = quantity.Units{Mass: "lb"}
	b := open(t, w.options)
	b.post("/left/gas/docket", "key", "a", "form", "other", "what", "ran-out", "other_when", "at", "other_at", "2025-11-01T21:40")
	b.post("/left/gas/docket", "key", "b", "form", "other", "what", "weighed", "weight", "31.3", "other_when", "now", "other_note", "on the scale of the yard")
	b.post("/left/gas/docket", "key", "c", "form", "other", "what", "stopped", "other_when", "now")
	b.post("/left/diesel/docket", "key", "d", "form", "other", "what", "stopped", "other_when", "now") // a fuel tank has no filling stop here
	if len(book.kept) != 3 {
		t.Fatalf("%+v", book.kept)
	}
	for _, d := range book.kept {
		if err := d.Check(sunday); err != nil {
			t.Errorf("%+v: %v", d, err)
		}
	}
	if d := book.kept[0]; d.Kind != docket.RanOut || d.Time != time.Date(2025, 11, 1, 21, 40, 0, 0, time.UTC) {
		t.Errorf("%+v", d)
	}
	if d := book.kept[1]; d.Kind != docket.Weighed || d.Kilograms < 14.19 || d.Kilograms > 14.2 || d.Typed != "31.3 lb" || d.Note == "" || d.Time != sunday {
		t.Errorf("%+v", d)
	}
	if d := book.kept[2]; d.Kind != docket.Stopped || d.Check(sunday) != nil {
		t.Errorf("%+v", d)
	}
}

// A receipt in the wrong unit is put right by one press: it is kept in the other unit,
// and struck out as it was. Pressed twice it is so once.
func TestDocketOtherUnit(t *testing.T) {
	w, book := atPump(t)
	b := open(t, w.options)
	_, text := b.brings("/left/gas/docket", picture(t, 60, 40), "key", "K1", "amount", "7.4", "unit", "L", "when", "now")
	if !strings.Contains(text, "Was another unit meant?") || !strings.Contains(text, `value="US gal">It was US gallons`) {
		t.Fatal(text)
	}
	for range 2 {
		_, _ = b.post("/left/gas/docket/unit", "id", "K1", "unit", "US gal")
	}
	if len(book.kept) != 2 || book.kept[1].Typed != "7.4 US gal" || book.kept[1].ID != "K1-us_gal" || len(book.photos["K1-us_gal"]) == 0 || book.kept[1].Time != book.kept[0].Time {
		t.Fatalf("%+v", book.kept)
	}
	l, _ := book.Learned(context.Background(), "gas")
	if first, _ := verdictOf(l, "K1"); !first.Seen.Docket.Struck {
		t.Error("the first isn't struck out")
	}
	for _, unit := range []string{"hogshead", ""} {
		if status, _ := b.post("/left/gas/docket/unit", "id", "K1-us_gal", "unit", unit); status != 422 {
			t.Errorf("%q: %d", unit, status)
		}
	}
	if status, _ := b.post("/left/gas/docket/unit", "id", "nobody", "unit", "L"); status != 404 {
		t.Error(status)
	}
}

// What was learned stands there in figures; what is struck out can be taken back. Of a
// gas tank no owner is told what all of it holds, nor anything above its permitted
// fill; a fitter is told what to key in, an owner whom to ask.
func TestDocketLearned(t *testing.T) {
	w := taught(t)
	y := newYard(t, w.options)
	for _, c := range []struct {
		role   doors.Role
		status int
		says   []string
		no     []string
	}{
		{doors.Fitter, 200, []string{"By 4 dockets. Levels are corrected by it from now on. What dockets can’t rule out counts from now on too", "<td>6 %</td><td>± 2 points</td>", "<td>70 %</td>", "The whole scale holds 53.7 ± 1.2 L, as learned.", "key in 5.5 and 84.5 Ω", "falls from 6.0 to 1.4 points", "It ran out", "Weighed: 14.2 kg", "doesn’t count", "struck out", "Take back in", "the pump by the ring road", "/left/gas/docket/d1/photo"}, []string{"Ask your fitter to do that", "100 %</th>"}},
		{doors.Owner, 200, []string{"key in 5.5 and 84.5 Ω", "Ask your fitter to do that"}, []string{"The whole scale holds", "100 %</th>"}},
		{doors.Guest, 403, []string{"Receipts are entered by those who own the tanks or fit them."}, []string{"Receipt:"}},
	} {
		cookies := y.as(c.role)
		answer := y.ask("GET", "/left/gas/docket", "", cookies)
		status, text := y.answer(answer, nil)
		if status != c.status {
			t.Errorf("%s: %d", c.role, status)
		}
		for _, want := range c.says {
			if !strings.Contains(text, want) {
				t.Errorf("%s: the page doesn't say %q", c.role, want)
			}
		}
		for _, no := range c.no {
			if strings.Contains(text, no) {
				t.Errorf("%s: the page says %q", c.role, no)
			}
		}
		_, text = y.answer(y.ask("GET", "/left/gas", "", cookies), nil)
		if leads := strings.Contains(text, `href="/left/gas/docket"`); leads != (c.status == 200) {
			t.Errorf("%s: the tank's page leads there: %v", c.role, leads)
		}
		photo := y.ask("GET", "/left/gas/docket/d1/photo", "", cookies)
		if got := photo.Header.Get("Content-Type"); (got == "image/jpeg") != (c.status == 200) {
			t.Errorf("%s: the picture comes as %q", c.role, got)
		}
		if c.role == doors.Owner {
			y.ask("POST", "/left/gas/docket/strike", "id=d2&struck=yes", cookies)
			y.ask("POST", "/left/gas/docket/strike", "id=d5&struck=no", cookies)
		}
	}
	l, _ := w.book.Learned(context.Background(), "gas")
	for id, struck := range map[string]bool{"d2": true, "d5": false, "d1": false} {
		if v, _ := verdictOf(l, id); v.Seen.Docket.Struck != struck {
			t.Errorf("%s is struck out: %v", id, v.Seen.Docket.Struck)
		}
	}
}

// What people wrote doesn't become a part of the page.
func TestDocketEscapes(t *testing.T) {
	w, _ := atPump(t)
	b := open(t, w.options)
	b.post("/left/gas/docket", "key", "K1", "amount", "31", "unit", "L", "when", "now", "note", breaksOut)
	_, text := b.get("/left/gas/docket")
	_, refused := b.post("/left/gas/docket", "key", breaksOut, "amount", breaksOut, "unit", breaksOut, "when", breaksOut, "at", breaksOut, "note", breaksOut, "held", breaksOut)
	for _, page := range []string{text, refused} {
		if strings.Contains(page, "<img class=evil") || strings.Contains(page, "<b class=evil") || !strings.Contains(page, "img class=evil") {
			t.Error(page)
		}
	}
}

// exifOf puts into a JPEG how the camera was held, and where it was.
func exifOf(picture []byte, way uint16, order binary.ByteOrder) []byte {
	t := []byte("II*\x00")
	if order == binary.BigEndian {
		t = []byte("MM\x00*")
	}
	put16 := func(v uint16) { t = order.(binary.AppendByteOrder).AppendUint16(t, v) }
	put32 := func(v uint32) { t = order.(binary.AppendByteOrder).AppendUint32(t, v) }
	put32(8)
	put16(2)
	put16(0x0112)
	put16(3)
	put32(1)
	put16(way)
	put16(0)
	put16(0x8825) // where it was taken
	put16(4)
	put32(1)
	put32(0)
	put32(0)
	body := append([]byte("Exif\x00\x00"), t...)
	body = append(body, "GPS 47.1 N 8.5 E"...)
	out := append([]byte{}, picture[:2]...)
	out = append(out, 0xff, 0xe1)
	out = binary.BigEndian.AppendUint16(out, uint16(len(body)+2))
	return append(append(out, body...), picture[2:]...)
}

// A picture is kept upright and without what a telephone writes into it. Where the
// dark half of a picture stands for each way of holding the camera is by Exif 2.32,
// 4.6.4 A, Orientation.
func TestPhotoIsPlain(t *testing.T) {
	plain := picture(t, 64, 40) // dark at the left
	for way, dark := range map[uint16]image.Point{1: {8, 20}, 2: {56, 20}, 3: {56, 20}, 4: {8, 20}, 5: {20, 8}, 6: {20, 8}, 7: {20, 56}, 8: {20, 56}, 0: {8, 20}, 9: {8, 20}} {
		for _, order := range []binary.ByteOrder{binary.LittleEndian, binary.BigEndian} {
			got, err := plainPhoto(exifOf(plain, way, order))
			if err != nil {
				t.Fatal(err)
			}
			if bytes.Contains(got, []byte("GPS")) || bytes.Contains(got, []byte("Exif")) {
				t.Error("it says where it was taken")
			}
			p, err := jpeg.Decode(bytes.NewReader(got))
			if err != nil {
				t.Fatal(err)
			}
			if r, _, _, _ := p.At(dark.X, dark.Y).RGBA(); r > 0x4000 || p.Bounds().Dx() < p.Bounds().Dy() != (way >= 5 && way <= 8) {
				t.Errorf("way %d: %v isn't dark in %v", way, dark, p.Bounds())
			}
		}
	}
	large, err := plainPhoto(picture(t, 4000, 300))
	if err != nil {
		t.Fatal(err)
	}
	if c, _ := jpeg.DecodeConfig(bytes.NewReader(large)); c.Width > photoSide || c.Width < photoSide/2 {
		t.Error(c.Width)
	}
	var glass bytes.Buffer
	_ = png.Encode(&glass, image.NewNRGBA(image.Rect(0, 0, 20, 20))) // transparent
	white, err := plainPhoto(glass.Bytes())
	if err != nil {
		t.Fatal(err)
	}
	p, _ := jpeg.Decode(bytes.NewReader(white))
	if c := color.GrayModel.Convert(p.At(10, 10)).(color.Gray); c.Y < 250 {
		t.Error("what is transparent isn't white but", c.Y)
	}
}

// What is no picture is refused, and so is one that would take too much room to be
// looked at; the rest of the form stays.
func TestPhotoRefused(t *testing.T) {
	w, book := atPump(t)
	b := open(t, w.options)
	whole := picture(t, 300, 200)
	huge := bytes.Clone(whole)
	at := bytes.Index(huge, []byte{0xff, 0xc0}) // the frame: its height and width follow
	binary.BigEndian.PutUint16(huge[at+5:], 60000)
	binary.BigEndian.PutUint16(huge[at+7:], 60000)
	for says, data := range map[string][]byte{
		"that is no picture": []byte("GIF89a, or so"), "3600 million points": huge, "damaged": whole[:len(whole)/2], "larger than 16 mb": make([]byte, photoLimit+1),
	} {
		status, text := b.brings("/left/gas/docket", data, "key", "K1", "amount", "31.25", "unit", "L", "when", "now")
		if status != 422 || !strings.Contains(strings.ToLower(text), says) || !strings.Contains(text, `value="31.25"`) {
			t.Errorf("%s: %d", says, status)
		}
	}
	status, text := b.brings("/left/gas/docket", nil, "key", "K1", "amount", "31.25", "unit", "L", "when", "now", "held", base64.StdEncoding.EncodeToString([]byte("<script>")))
	if status != 422 || !strings.Contains(text, "no picture") {
		t.Error(status)
	}
	if book.entered != 0 {
		t.Error("something was kept")
	}
}

// Whatever bytes come, nothing is kept but a JPEG without anything else in it.
func FuzzPhoto(f *testing.F) {
	whole := picture(f, 30, 20)
	for _, seed := range [][]byte{nil, whole, whole[:50], exifOf(whole, 6, binary.LittleEndian), exifOf(whole, 3, binary.BigEndian), {0xff, 0xd8, 0xff, 0xe1, 0, 9, 'E', 'x'}} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		exifWay(data)
		if c, _, err := image.DecodeConfig(bytes.NewReader(data)); err == nil && c.Width*c.Height > 100_000 {
			return // it takes long
		}
		got, err := plainPhoto(data)
		if err != nil {
			return
		}
		if _, err := jpeg.Decode(bytes.NewReader(got)); err != nil || bytes.Contains(got, []byte("Exif\x00\x00")) {
			t.Fatal(err)
		}
	})
}

// An amount comes back from its unit, whichever it was typed in. The gallons are by
// their definitions (reference: NIST Handbook 44, appendix C: 231 in³, and 4.54609 L).
func TestDocketAmountLaw(t *testing.T) {
	litres := map[string]float64{"L": 1, "US gal": 3.785411784, "imp gal": 4.54609}
	rapid.Check(t, func(t *rapid.T) {
		v := float64(rapid.IntRange(1, 99_999).Draw(t, "v")) / 100
		text := quantity.Short(v, 2)
		unit := rapid.SampledFrom([]string{"L", "US gal", "imp gal"}).Draw(t, "unit")
		other := rapid.SampledFrom([]string{"L", "US gal", "imp gal", "kg", ""}).Draw(t, "other")
		for _, c := range [][2]string{{text, unit}, {strings.ReplaceAll(text, ".", ","), unit}, {text + " " + unit, other}} {
			got, kg, err := docketAmount(c[0], c[1])
			if want := v * litres[unit]; err != nil || kg != 0 || got < want*(1-1e-9) || got > want*(1+1e-9) {
				t.Fatalf("%q in %q: %v L, %v kg, %v; expected %v", c[0], c[1], got, kg, err, want)
			}
		}
		if _, kg, err := docketAmount(text+"kg", other); err != nil || kg != v {
			t.Fatal(kg, err)
		}
		if _, _, err := docketAmount(text+" gal", "L"); !errors.Is(err, errWhichGallon) {
			t.Fatal("it isn't asked which gallon is meant")
		}
	})
}
