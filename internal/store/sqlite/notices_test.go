package sqlite_test

import (
	"errors"
	"fmt"
	"path/filepath"
	"slices"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"gaugewright/internal/notice"
	"gaugewright/internal/store/sqlite"
)

var queuedAt = time.Date(2025, 11, 3, 12, 0, 0, 0, time.UTC)

func readingsAt(t *testing.T, path string) *sqlite.Readings {
	t.Helper()
	s, err := sqlite.OpenReadings(t.Context(), path, sqlite.Options{})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = s.Close() })
	return s
}

func told(id, priority string, minute int) notice.Notice {
	return notice.Notice{ID: id, Time: queuedAt.Add(time.Duration(minute) * time.Minute), Kind: "low", Priority: priority, Title: "Fresh is low", Text: "'); DROP TABLE notice; --"}
}

func ids(list []notice.Waiting) (out []string) {
	for _, w := range list {
		out = append(out, w.Notice.ID)
	}
	return out
}

// What is queued is there after the file was closed, with all that was known of it, and
// is given in the order in which it presses.
func TestNotices(t *testing.T) {
	path, ctx := filepath.Join(t.TempDir(), "watch.db"), t.Context()
	s := readingsAt(t, path)
	ways := []string{"mail/owner", "hook/house"}
	for i, n := range []notice.Notice{told("a", notice.Low, 0), told("b", notice.Critical, 2), told("c", notice.Critical, 1), told("b", notice.Low, 9)} {
		if err := s.QueueNotice(ctx, n, ways, queuedAt.Add(time.Duration(i)*time.Second), 100); err != nil {
			t.Fatal(err)
		}
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	s = readingsAt(t, path)
	due, next, err := s.DueNotices(ctx, "mail/owner", queuedAt.Add(time.Hour), 10)
	if err != nil || !next.IsZero() {
		t.Fatal(next, err)
	}
	if diff := cmp.Diff([]string{"c", "b", "a"}, ids(due)); diff != "" {
		t.Errorf("the order:\n%s", diff)
	}
	want := notice.Waiting{Notice: told("c", notice.Critical, 1), Way: "mail/owner", Queued: queuedAt.Add(2 * time.Second), Next: queuedAt.Add(2 * time.Second)}
	if diff := cmp.Diff(want, due[0]); diff != "" {
		t.Errorf("it came back as:\n%s", diff)
	}
	now := queuedAt.Add(time.Hour)
	failed := notice.Usual.After(due[0], now, notice.Unreached(errors.New("nobody's there")), 1)
	dead := notice.Usual.After(due[1], now, notice.Permanently(errors.New("no")), 1)
	done := notice.Usual.After(due[2], now, nil, 1)
	for _, w := range []notice.Waiting{failed, dead} {
		if err := s.NoticeTried(ctx, w, false); err != nil {
			t.Fatal(err)
		}
	}
	list, next, err := s.DueNotices(ctx, "mail/owner", now, 10)
	if err != nil || len(list) != 1 || !next.Equal(failed.Next.Truncate(time.Millisecond)) {
		t.Errorf("%v, then at %v, %v; expected %v", ids(list), next, err, failed.Next)
	}
	// One is delivered: what found nobody is due as well.
	if err := s.NoticeTried(ctx, done, true); err != nil {
		t.Fatal(err)
	}
	if list, _, err = s.DueNotices(ctx, "mail/owner", now, 10); err != nil || len(list) != 1 || list[0].Notice.ID != "c" || list[0].Why != "nobody's there" || !list[0].Unreached {
		t.Errorf("after one was delivered %+v is due, %v", list, err)
	}
	waiting, given, err := s.NoticesOf(ctx)
	if err != nil || waiting["mail/owner"] != 1 || waiting["hook/house"] != 3 || given["mail/owner"] != 1 {
		t.Errorf("%v wait, %v were given up, %v", waiting, given, err)
	}
	if list, err := s.DeadNotices(ctx, 10); err != nil || len(list) != 1 || !list[0].Dead.Equal(now) || list[0].Why != "no" {
		t.Errorf("given up: %+v, %v", list, err)
	}
	if err := s.AgainNotice(ctx, "b", "mail/owner", now); err != nil {
		t.Error(err)
	}
	if err := s.AgainNotice(ctx, "b", "mail/owner", now); !errors.Is(err, notice.ErrNoNotice) {
		t.Errorf("what waits again: %v", err)
	}
	if err := s.DropNotice(ctx, "b", "mail/owner"); err != nil {
		t.Error(err)
	}
	if err := s.DropNotice(ctx, "a", "mail/owner"); !errors.Is(err, notice.ErrNoNotice) {
		t.Errorf("one that was delivered: %v; expected that it can't be let go of", err)
	}
	// What was delivered isn't sent again under the same ID, until it is forgotten.
	if err := s.QueueNotice(ctx, told("a", notice.Low, 0), ways[:1], now, 100); err != nil {
		t.Fatal(err)
	}
	if list, err := s.WaitingNotices(ctx, 10); err != nil || len(list) != 4 {
		t.Errorf("%v wait, %v", ids(list), err)
	}
	if err := s.PruneNotices(ctx, now.Add(time.Second), 10); err != nil {
		t.Fatal(err)
	}
	if err := s.QueueNotice(ctx, told("a", notice.Low, 0), ways[:1], now, 100); err != nil {
		t.Fatal(err)
	}
	if list, err := s.WaitingNotices(ctx, 10); err != nil || len(list) != 5 {
		t.Errorf("after it was forgotten %v wait, %v", ids(list), err)
	}
}

// Where there is no room, the least pressing of the longest ago goes, and a notice says
// how many did.
// Of one alarm notices go in order: one isn't due while an older one waits, has that one
// tried again, and goes once it was delivered or given up. Other alarms and ways go on.
func TestNoticesOfAnAlarmInOrder(t *testing.T) {
	s, ctx := readingsAt(t, filepath.Join(t.TempDir(), "watch.db")), t.Context()
	queue := func(id, alarm string, minute int, ways ...string) {
		t.Helper()
		n := told(id, notice.Medium, minute)
		n.Alarm = alarm
		if err := s.QueueNotice(ctx, n, ways, n.Time, 100); err != nil {
			t.Fatal(err)
		}
	}
	due := func(way string, minute int) []notice.Waiting {
		t.Helper()
		list, _, err := s.DueNotices(ctx, way, queuedAt.Add(time.Duration(minute)*time.Minute), 10)
		if err != nil {
			t.Fatal(err)
		}
		return list
	}
	expect := func(way string, minute int, want ...string) {
		t.Helper()
		if got := ids(due(way, minute)); !slices.Equal(got, want) {
			t.Errorf("by %s after %d min: %q; expected %q", way, minute, got, want)
		}
	}
	refused := func(minute int) {
		t.Helper()
		w := due("hook/house", minute)[0]
		w.Tries, w.Last, w.Next = w.Tries+1, queuedAt.Add(time.Duration(minute)*time.Minute), queuedAt.Add(time.Duration(minute+60)*time.Minute)
		if err := s.NoticeTried(ctx, w, false); err != nil {
			t.Fatal(err)
		}
	}
	queue("low@1/raised/0", "low", 1, "hook/house", "mail/owner")
	refused(1)
	expect("hook/house", 2)
	queue("low@2/over/0", "low", 3, "hook/house", "mail/owner")
	queue("lower@2/raised/0", "lower", 4, "hook/house")
	expect("hook/house", 5, "low@1/raised/0", "low@2/over/0", "lower@2/raised/0")
	expect("mail/owner", 5, "low@1/raised/0", "low@2/over/0")
	refused(5)
	expect("hook/house", 6, "lower@2/raised/0")
	expect("mail/owner", 6, "low@1/raised/0", "low@2/over/0")
	expect("hook/house", 66, "low@1/raised/0", "low@2/over/0", "lower@2/raised/0")
	if err := s.DropNotice(ctx, "low@1/raised/0", "hook/house"); err != nil {
		t.Fatal(err)
	}
	expect("hook/house", 6, "low@2/over/0", "lower@2/raised/0")
}

func TestNoticesOverflow(t *testing.T) {
	s, ctx := readingsAt(t, filepath.Join(t.TempDir(), "watch.db")), t.Context()
	for i := range 5 {
		if err := s.QueueNotice(ctx, told(fmt.Sprint("low", i), notice.Low, i), []string{"mqtt"}, queuedAt, 3); err != nil {
			t.Fatal(err)
		}
	}
	if err := s.QueueNotice(ctx, told("critical", notice.Critical, 7), []string{"mqtt"}, queuedAt, 3); err != nil {
		t.Fatal(err)
	}
	list, err := s.WaitingNotices(ctx, 10)
	if diff := cmp.Diff([]string{"critical", "low3", "low4"}, ids(list)); diff != "" || err != nil {
		t.Errorf("%v:\n%s", err, diff)
	}
	word := func(n int, from, to time.Time) notice.Notice { return notice.Lost("lost-1", n, from, to, time.UTC) }
	n, err := s.SumLost(ctx, "mqtt", queuedAt, word)
	if n != 3 || err != nil {
		t.Errorf("%d were let go of, %v; expected 3", n, err)
	}
	if n, err := s.SumLost(ctx, "mqtt", queuedAt, word); n != 0 || err != nil {
		t.Errorf("told twice: %d, %v", n, err)
	}
	list, _, err = s.DueNotices(ctx, "mqtt", queuedAt, 10)
	if err != nil || len(list) != 4 || list[1].Notice.Text != "So many waited to be sent that 3 notices were let go of for want of room, between 3 November 2025 at 12:00:00 (UTC+00:00) and 3 November 2025 at 12:02:00 (UTC+00:00). Look at the alarms themselves." {
		t.Errorf("%+v, %v", list, err)
	}
	for i, w := range list {
		if err := s.NoticeTried(ctx, notice.Usual.After(w, queuedAt.Add(time.Duration(i)*time.Second), notice.Permanently(errors.New("no")), 1), false); err != nil {
			t.Fatal(err)
		}
	}
	if err := s.PruneNotices(ctx, queuedAt, 1); err != nil {
		t.Fatal(err)
	}
	if list, err := s.DeadNotices(ctx, 10); err != nil || len(list) != 1 {
		t.Errorf("%v are left, %v", ids(list), err)
	}
	if n, err := s.SumLost(ctx, "mqtt", queuedAt, word); n != 3 || err != nil {
		t.Errorf("of those that were given up %d are counted, %v; expected 3", n, err)
	}
}

func TestSubscriptions(t *testing.T) {
	s, ctx := readingsAt(t, filepath.Join(t.TempDir(), "watch.db")), t.Context()
	one := sqlite.Subscription{Endpoint: "https://push.example.net/1", Label: "Phone", Made: queuedAt, Body: []byte(`{"x":1}`)}
	for range 2 {
		if ok, err := s.KeepSubscription(ctx, one, 1); !ok || err != nil {
			t.Fatal(ok, err)
		}
	}
	other := one
	if other.Endpoint += "2"; true {
		if ok, err := s.KeepSubscription(ctx, other, 1); ok || err != nil {
			t.Errorf("one too many: %v, %v", ok, err)
		}
	}
	list, err := s.Subscriptions(ctx)
	if diff := cmp.Diff([]sqlite.Subscription{one}, list); diff != "" || err != nil {
		t.Errorf("%v:\n%s", err, diff)
	}
	if err := s.QueueNotice(ctx, told("a", notice.Low, 0), []string{"push/1"}, queuedAt, 10); err != nil {
		t.Fatal(err)
	}
	if ok, err := s.DropSubscription(ctx, one.Endpoint, "push/1"); !ok || err != nil {
		t.Error(ok, err)
	}
	if ok, err := s.DropSubscription(ctx, one.Endpoint, "push/1"); ok || err != nil {
		t.Error("dropped twice", ok, err)
	}
	if list, err := s.WaitingNotices(ctx, 10); err != nil || len(list) != 0 {
		t.Errorf("%v wait for nobody, %v", ids(list), err)
	}
	made := 0
	for range 2 {
		key, err := s.PushKey(ctx, func() ([]byte, error) { made++; return []byte{1, 2, byte(made)}, nil })
		if err != nil || string(key) != "\x01\x02\x01" {
			t.Errorf("the key is %v, %v", key, err)
		}
	}
}

// A notice is kept, and one that is due found, while ten thousand wait.
func BenchmarkNotices(b *testing.B) {
	s, err := sqlite.OpenReadings(b.Context(), filepath.Join(b.TempDir(), "watch.db"), sqlite.Options{})
	if err != nil {
		b.Fatal(err)
	}
	defer s.Close()
	for i := range 10_000 {
		if err := s.QueueNotice(b.Context(), told(fmt.Sprint("n", i), notice.Low, i), []string{"mqtt"}, queuedAt, 10_000); err != nil {
			b.Fatal(err)
		}
	}
	for i := 0; b.Loop(); i++ {
		if err := s.QueueNotice(b.Context(), told(fmt.Sprint("more", i), notice.High, i), []string{"mqtt"}, queuedAt, 10_000); err != nil {
			b.Fatal(err)
		}
		if list, _, err := s.DueNotices(b.Context(), "mqtt", queuedAt, 8); err != nil || len(list) != 8 {
			b.Fatal(list, err)
		}
	}
}
