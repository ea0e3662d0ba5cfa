package record_test

import (
	"os"
	"testing"
	"bytes"

	"gaugewright/internal/job"
	"gaugewright/internal/record"
	"gaugewright/internal/browser"
	"fmt"
)

func TestLook(t *testing.T) {
	dir := os.Getenv("LOOK")
	if dir == "" { t.Skip() }
	many := sample()
	for i := range 500 { many.Tanks[1].Bench.Readings = append(many.Tanks[1].Bench.Readings, job.Reading{MarkMM: at(20+float64(i%14)*20), Ohm: 4+float64(i%14)*17+float64(i%3), Note: map[bool]string{true:"a note "+fmt.Sprint(i)}[i%17==0]}) }
	nothing := &job.Job{Number: "7", Tanks: []job.Tank{{Name: "Empty notebook", Contents: job.Water}, {}}}
	for name, j := range map[string]*job.Job{"sample": sample(), "long": long(), "empty": {}, "many": many, "nothing": nothing, "odd": hostile("Ωμέγα Šťastný Дизель 漢字 😀 שלום مرحبا e\u0301")} {
		for _, paper := range []record.Paper{record.A4, record.Letter} {
			var b bytes.Buffer
			if err := document(t, j).PDF(&b, paper); err != nil { t.Fatal(err) }
			os.WriteFile(dir+"/"+name+"-"+string(paper)+".pdf", b.Bytes(), 0o644)
			t.Log(name, paper, b.Len())
		}
	}
	if os.Getenv("CHROME") != "" {
		os.WriteFile(dir+"/chrome.pdf", browser.PDF(t, opened(t, html(t, sample(), record.A4)), "A4"), 0o644)
	}
}
func BenchmarkPDF(b *testing.B) {
	j := sample()
	d, err := record.New(j, checksum, made)
	if err != nil { b.Fatal(err) }
	for b.Loop() {
		var page bytes.Buffer
		if err := d.PDF(&page, record.A4); err != nil {
			b.Fatal(err)
		}
		b.ReportMetric(float64(page.Len()), "bytes/file")
	}
}
