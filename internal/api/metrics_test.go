package api

import (
	"net/http"
	"strings"
	"testing"

	"github.com/prometheus/client_golang/prometheus/testutil/promlint"
	dto "github.com/prometheus/client_model/go"
	"github.com/prometheus/common/expfmt"
	"github.com/prometheus/common/model"
)

// scrape reads the figures by Prometheus' own parser.
func scrape(t *testing.T, url string) map[string]*dto.MetricFamily {
	t.Helper()
	got := ask(t, "GET", url+"/metrics", "")
	if got.status != 200 || !strings.HasPrefix(got.head.Get("Content-Type"), "text/plain; version=0.0.4") {
		t.Fatalf("%d %v", got.status, got.head)
	}
	parser := expfmt.NewTextParser(model.LegacyValidation)
	families, err := parser.TextToMetricFamilies(strings.NewReader(got.text))
	if err != nil {
		t.Fatal(err)
	}
	return families
}

// value gives the figure of a family whose labels have these values, in any order.
func value(f *dto.MetricFamily, labels ...string) (float64, bool) {
	for _, m := range f.GetMetric() {
		var have []string
		for _, l := range m.GetLabel() {
			have = append(have, l.GetValue())
		}
		if strings.Join(have, "|") != strings.Join(labels, "|") {
			continue
		}
		switch {
		case m.Gauge != nil:
			return m.Gauge.GetValue(), true
		case m.Counter != nil:
			return m.Counter.GetValue(), true
		case m.Histogram != nil:
			return float64(m.Histogram.GetSampleCount()), true
		}
	}
	return 0, false
}

// What stands at /metrics is read by Prometheus' own parser, and is what the watch
// says.
func TestMetrics(t *testing.T) {
	s := newStall()
	s.failing = "no space left on device"
	url := serving(t, s)
	ask(t, "GET", url+"/api/v1/levels", "")
	ask(t, "GET", url+"/api/v1/tanks/nowhere", "")
	ask(t, "GET", url+"/jobs/1", "")
	families := scrape(t, url)
	for name, figures := range map[string]map[string]float64{ // by the values of labels, in the order of their names
		"gaugewright_readings_taken_total":     {"mqtt": 86400, "modbus/bay": 0},
		"gaugewright_readings_refused_total":   {"mqtt|an unknown field": 2},
		"gaugewright_readings_kept_total":      {"": 86400},
		"gaugewright_commits_failed_total":     {"": 0},
		"gaugewright_readings_waiting":         {"": 40},
		"gaugewright_tank_readings_total":      {"taken|fresh": 86400, "set aside as a spike|fresh": 3, "open circuit|lpg": 7},
		"gaugewright_commit_duration_seconds":  {"": 2},
		"gaugewright_disk_failing":             {"": 1},
		"gaugewright_lost_total":               {"readings that waited for the disk": 5},
		"gaugewright_store_bytes":              {"": 1 << 20},
		"gaugewright_watch_start_time_seconds": {"": float64(noon.Unix() - 3600)},
		"gaugewright_feed_up":                  {"mqtt": 1, "modbus/bay": 0},
		"gaugewright_level_ratio":              {"fresh": 0.5184},
		"gaugewright_level_low_ratio":          {"fresh": 0.501},
		"gaugewright_level_high_ratio":         {"fresh": 0.536},
		"gaugewright_level_age_seconds":        {"fresh": 4, "lpg": 60},
		"gaugewright_level_status":             {"good|fresh": 1, "failure|fresh": 0, "failure|lpg": 1, "good|lpg": 0, "failure|diesel": 1},
		"gaugewright_http_requests_total":      {"api|2xx": 1, "api|4xx": 1, "pages|2xx": 1},
		"gaugewright_http_streams":             {"": 0},
		"gaugewright_use_ratio_per_day":        {"fresh": 0.0941},
		"gaugewright_time_left_seconds":        {"low|fresh": 118 * 3600, "mid|fresh": 141 * 3600, "high|fresh": 167 * 3600},
	} {
		for labels, want := range figures {
			if got, ok := value(families[name], strings.Split(labels, "|")...); !ok && labels != "" || got != want {
				t.Errorf("%s{%s}: %v, %v; expected %v", name, labels, got, ok, want)
			}
		}
	}
	for name, n := range map[string]int{"gaugewright_level_ratio": 1, "gaugewright_level_age_seconds": 2, "gaugewright_level_status": 15} {
		if got := len(families[name].GetMetric()); got != n {
			t.Errorf("%d of %s; expected %d", got, name, n)
		}
	}
	for _, name := range []string{"gaugewright_build_info", "process_resident_memory_bytes", "process_open_fds", "go_goroutines", "go_memory_classes_heap_objects_bytes"} {
		if families[name] == nil {
			t.Errorf("no %s", name)
		}
	}
	bucket := families["gaugewright_commit_duration_seconds"].GetMetric()[0].GetHistogram().GetBucket()
	if len(bucket) < 13 || bucket[0].GetCumulativeCount() != 0 || bucket[2].GetCumulativeCount() != 1 || bucket[12].GetCumulativeCount() != 1 {
		t.Errorf("commits: %v", bucket)
	}
}

// The names and helps are as Prometheus' own linter wants them; and it does find
// what is wrong.
func TestMetricsLinted(t *testing.T) {
	text := ask(t, "GET", serving(t, newStall())+"/metrics", "").text
	problems, err := promlint.New(strings.NewReader(text)).Lint()
	if err != nil {
		t.Fatal(err)
	}
	for _, p := range problems {
		t.Errorf("%s: %s", p.Metric, p.Text)
	}
	wrong := strings.ReplaceAll(text, "gaugewright_readings_kept_total", "gaugewright_readings_kept")
	if problems, err = promlint.New(strings.NewReader(wrong)).Lint(); err != nil || len(problems) == 0 {
		t.Errorf("a counter without _total is found to be right: %v, %v", problems, err)
	}
}

// However many tanks there are, the figures of no more than a thousand are told.
func TestMetricsBounded(t *testing.T) {
	url := serving(t, nil, func(o *Options) { o.Watch, o.Take = many{}, nil })
	if n := len(scrape(t, url)["gaugewright_level_status"].GetMetric()); n != 5*mostTanks {
		t.Errorf("%d figures of a status; expected %d", n, 5*mostTanks)
	}
}

// Requests are sorted into few classes, whatever is asked for.
func TestClasses(t *testing.T) {
	for path, want := range map[string]string{
		"/": "pages", "/jobs/7": "pages", "/api/v1/levels": "api", "/api/v1/levels/stream": "stream", "/left/live": "stream",
		"/metrics": "metrics", "/healthz": "health", "/readyz": "health", "/static/a.css": "static", "/readings/fresh": "readings", "/readingsx": "pages",
	} {
		if got := class(path); got != want {
			t.Errorf("%s: %s; expected %s", path, got, want)
		}
	}
}

// What wraps an answer passes on what a controller asks of it.
func TestAnswerUnwraps(t *testing.T) {
	s := newStall()
	a, err := New(Options{Watch: past{s}})
	if err != nil {
		t.Fatal(err)
	}
	flushed := false
	h := a.Before(http.HandlerFunc(func(w http.ResponseWriter, _ *http.Request) { flushed = http.NewResponseController(w).Flush() == nil }))
	server := serve(t, h)
	if ask(t, "GET", server, ""); !flushed {
		t.Error("an answer can't be flushed")
	}
}
