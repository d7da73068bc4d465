package hours_test

import (
	"errors"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"ampleway/data/fault"
	"ampleway/stations/hours"
)

func berlin(t testing.TB) *time.Location {
	zone, err := time.LoadLocation("Europe/Berlin")
	if err != nil {
		t.Fatal(err)
	}
	return zone
}

// The week of Monday 2026-06-01; verdicts read off the specification on the
// OpenStreetMap wiki, Key:opening_hours/specification.
func TestAt(t *testing.T) {
	for _, c := range []struct {
		expr, at string
		want     hours.State
	}{
		{"24/7", "2026-06-01 03:00", hours.Open},
		{"Mo-Fr 08:00-18:00", "2026-06-01 07:59", hours.Closed},
		{"Mo-Fr 08:00-18:00", "2026-06-01 08:00", hours.Open},
		{"Mo-Fr 08:00-18:00", "2026-06-01 18:00", hours.Closed},
		{"Fr 22:00-02:00", "2026-06-06 01:59", hours.Open},
		{"Fr 22:00-02:00", "2026-06-05 01:59", hours.Closed},
		{"Mo-Fr 08:00-18:00; We off", "2026-06-03 12:00", hours.Closed},
		{"Mo-Fr 08:00-18:00; We 10:00-12:00", "2026-06-03 09:00", hours.Closed},
		{"Mo-Fr 08:00-18:00, We 19:00-20:00", "2026-06-03 09:00", hours.Open},
		{"Mo-Fr 08:00-18:00 || unknown", "2026-06-06 12:00", hours.Unknown},
		{"Mo-Fr 08:00-18:00 \"ask\"", "2026-06-01 12:00", hours.Unknown},
		{"Mo-Su 08:00-18:00; PH off", "2026-06-04 12:00", hours.Open},
		{"call ahead", "2026-06-01 12:00", hours.Unknown},
		{"", "2026-06-01 12:00", hours.Unknown},
	} {
		s, _ := hours.Parse(c.expr)
		at, err := time.ParseInLocation("2006-01-02 15:04", c.at, berlin(t))
		if err != nil {
			t.Fatal(err)
		}
		if got := s.At(at); got != c.want {
			t.Errorf("%q at %s: %v, want %v", c.expr, c.at, got, c.want)
		}
	}
}

func TestUnreadable(t *testing.T) {
	for _, c := range []struct{ expr, where, expected string }{
		{"", "character 1", "a day"},
		{"call ahead", "character 1", "a day"},
		{"Mo-Fr 08:00", "character 12", `"-"`},
		{"Mo-Fr 08:00-", "character 13", "a number"},
		{"Mo-Fr 25:00-26:00", "character 7", "23:59"},
		{"Mo-Fr 08:00-50:00", "character 13", "a number from 0 to 48"},
		{"Mo-Fr 08:61-09:00", "character 10", "a number from 0 to 59"},
		{"Mo-Xx 08:00-10:00", "character 4", "a weekday"},
		{"Feb 30 off", "character 5", "a number from 1 to 29"},
		{"Jan 1-Mar off", "character 11", "a day at both ends"},
		{"Mo-Fr 08:00-10:00 \"x", "character 19", "double quotes"},
		{"Mo[6] 08:00-10:00", "character 4", "a number from 1 to 5"},
		{"Mo-Fr 08:00-10:00 ||", "character 21", "a day"},
		{"Mo-Fr §", "character 7", "a day"},
		{"week 54 off", "character 6", "a number from 1 to 53"},
		{"Mo 13pm-14:00", "character 4", "an hour from 1 to 12"},
		{strings.Repeat("Mo;", 200), "", "at most 128 rules"},
		{strings.Repeat("x", 5000), "", "at most 4096 bytes"},
	} {
		s, err := hours.Parse(c.expr)
		var bad *fault.Input
		if !errors.As(err, &bad) {
			t.Errorf("%q: %v, want a *fault.Input", c.expr, err)
			continue
		}
		if c.where != "" && bad.Where != c.where || !strings.Contains(bad.Expected, c.expected) {
			t.Errorf("%q: %v", c.expr, err)
		}
		now := time.Now()
		if week := s.Intervals(now, now.AddDate(0, 0, 7)); len(week) != 1 || week[0].State != hours.Unknown {
			t.Errorf("%q: not unknown: %v", c.expr, week)
		}
	}
}

// Clocks go forward at 02:00 on 2026-03-29 and back at 03:00 on 2026-10-25.
func TestClockChange(t *testing.T) {
	zone := berlin(t)
	s, err := hours.Parse("Mo-Su 01:00-04:00")
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		day  time.Time
		want time.Duration
	}{
		{time.Date(2026, 3, 28, 12, 0, 0, 0, zone), 2 * time.Hour},
		{time.Date(2026, 10, 24, 12, 0, 0, 0, zone), 4 * time.Hour},
		{time.Date(2026, 6, 1, 12, 0, 0, 0, zone), 3 * time.Hour},
	} {
		day := s.Intervals(c.day, c.day.Add(24*time.Hour))
		if len(day) != 3 || day[1].State != hours.Open {
			t.Fatalf("no opening after %v: %v", c.day, day)
		}
		if got := day[1].To.Sub(day[1].From); got != c.want {
			t.Errorf("after %v: open for %v, want %v", c.day, got, c.want)
		}
	}
}

// Intervals and At are two views of one thing.
func TestViewsAgree(t *testing.T) {
	zone := berlin(t)
	exprs := []string{"24/7", "Mo-Fr 08:00-18:00; Sa 22:00-03:00", "Apr-Sep 08:00-20:00; PH off", "10:00+", "Su[1] 10:00-14:00 || unknown", "Dec 24-Jan 2 off; Mo-Su 01:30-02:30", "off"}
	rapid.Check(t, func(t *rapid.T) {
		s, err := hours.Parse(rapid.SampledFrom(exprs).Draw(t, "expr"))
		if err != nil {
			t.Fatal(err)
		}
		from := time.Unix(rapid.Int64Range(1735689600, 1830297600).Draw(t, "from"), 0).In(zone)
		to := from.Add(time.Duration(rapid.IntRange(1, 10*24*60).Draw(t, "minutes")) * time.Minute)
		list := s.Intervals(from, to)
		if !list[0].From.Equal(from) || !list[len(list)-1].To.Equal(to) {
			t.Fatalf("covers %v to %v", list[0].From, list[len(list)-1].To)
		}
		for i, in := range list {
			if got := s.At(in.From); got != in.State {
				t.Fatalf("%v: At %v, Intervals %v", in.From, got, in.State)
			}
			if got := s.At(in.To.Add(-time.Nanosecond)); got != in.State {
				t.Fatalf("before %v: At %v, Intervals %v", in.To, got, in.State)
			}
			if i+1 < len(list) && (in.State == list[i+1].State || !list[i+1].From.Equal(in.To)) {
				t.Fatalf("%v and %v", in, list[i+1])
			}
		}
	})
}

// Easter Sundays as tabled in Meeus, Astronomical Algorithms, chapter 8.
func TestEaster(t *testing.T) {
	s, err := hours.Parse("easter 10:00-11:00")
	if err != nil {
		t.Fatal(err)
	}
	for _, day := range []string{"1991-03-31", "1992-04-19", "1993-04-11", "2000-04-23", "1954-04-18", "1818-03-22"} {
		at, err := time.Parse(time.DateOnly, day)
		if err != nil {
			t.Fatal(err)
		}
		if s.At(at.Add(10*time.Hour)) != hours.Open || s.At(at.Add(34*time.Hour)) != hours.Closed {
			t.Errorf("%s is not Easter", day)
		}
	}
}

func FuzzParse(f *testing.F) {
	for _, e := range []string{"24/7", "Mo-Fr 08:00-18:00; PH off", "Apr 1-Oct 31 Su[1] 10:00-26:00+", "2026 Dec 24-2027 Jan 2 off || \"x\"", "(sunset-01:00)-04:00", "easter -2 days, week 1-53/2 Mo"} {
		f.Add(e, int64(1780000000))
	}
	zone := berlin(f)
	f.Fuzz(func(t *testing.T, expr string, at int64) {
		s, err := hours.Parse(expr)
		from := time.Unix(at%4102444800, 0).In(zone)
		if err != nil && s.At(from) != hours.Unknown {
			t.Fatal("unreadable, but not unknown")
		}
		for _, in := range s.Intervals(from, from.Add(72*time.Hour)) {
			if s.At(in.From) != in.State {
				t.Fatalf("%q: At and Intervals differ at %v", expr, in.From)
			}
		}
	})
}

func BenchmarkAt(b *testing.B) {
	s, err := hours.Parse("Mo-Fr 07:00-22:00; Sa,Su 09:00-20:00; Dec 25-26 off")
	if err != nil {
		b.Fatal(err)
	}
	at := time.Date(2026, 6, 5, 12, 0, 0, 0, berlin(b))
	b.ReportAllocs()
	for b.Loop() {
		s.At(at)
	}
}
