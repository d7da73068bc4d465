package hours_test

import (
	"bufio"
	"bytes"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"ampleway/stations/hours"
	"ampleway/testdata"
)

const referenceZone = "Europe/Berlin"

// sunTime finds a time of day that the sun sets; it is not computed here.
var sunTime = regexp.MustCompile(`sunrise|sunset|dawn|dusk`)

// question is an expression and the instants at which it is asked, in seconds
// since 1970.
type question struct {
	Expr  string  `json:"expr"`
	Times []int64 `json:"times"`
}

type answer struct {
	States []hours.State `json:"states"`
	Error  string        `json:"error"`
}

// ask puts questions to the npm package opening_hours 3.15.0 in a process of
// its own.
func ask(t *testing.T, questions []question) []answer {
	t.Helper()
	modules := testdata.NodeModules(t)
	in, err := json.Marshal(questions)
	if err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command("node", filepath.Join("testdata", "reference.cjs"), modules)
	cmd.Env = append(os.Environ(), "TZ="+referenceZone)
	cmd.Stdin = bytes.NewReader(in)
	out, err := cmd.Output()
	if err != nil {
		t.Fatalf("node: %v", err)
	}
	var answers []answer
	if err := json.Unmarshal(out, &answers); err != nil {
		t.Fatal(err)
	}
	return answers
}

// TestReference compares verdicts with the npm package opening_hours 3.15.0 on
// expressions that occur in practice: the list in testdata/practice.txt, those
// in the open data where it is present, and combinations of their parts. Each
// is asked at instants of three years, on and beside its own changes.
func TestReference(t *testing.T) {
	zone, err := time.LoadLocation(referenceZone)
	if err != nil {
		t.Fatal(err)
	}
	calendar := bavaria(t, zone)
	rng := rand.New(rand.NewPCG(1, 2))
	per := 16
	if testdata.Slow() {
		per = 100
	}
	var questions []question
	for _, e := range expressions(t, rng) {
		questions = append(questions, question{e, instants(e, rng, zone, per)})
	}
	pairs, unread, refused, differ, apart := 0, 0, 0, 0, 0
	answers := ask(t, questions)
	for i, q := range questions {
		s, err := hours.Parse(q.Expr)
		s = s.With(calendar)
		followsSun := sunTime.MatchString(q.Expr)
		switch {
		case answers[i].Error != "":
			refused++
			t.Logf("the reference refuses %q; read here: %v", q.Expr, err == nil)
			continue
		case err != nil:
			unread++
			t.Logf("not understood: %q (%v)", q.Expr, err)
		}
		for j, at := range q.Times {
			got, want := s.At(time.Unix(at, 0).In(zone)), answers[i].States[j]
			pairs++
			if err != nil || followsSun {
				if got == hours.Open && want != hours.Open {
					t.Errorf("%q at %v: open, the reference says %v", q.Expr, time.Unix(at, 0).In(zone), want)
				}
				continue
			}
			if got != want && endsOnEvent(q.Expr, time.Unix(at, 0).In(zone)) {
				apart++
				continue
			}
			if got != want {
				if differ++; differ < 40 {
					t.Errorf("%q at %v: %v, the reference says %v", q.Expr, time.Unix(at, 0).In(zone), got, want)
				}
			}
		}
	}
	if pairs < 5000 {
		t.Errorf("only %d pairs", pairs)
	}
	t.Logf("%d expressions, %d pairs, %d differ and %d on the last day of a range that ends on an event; %d expressions not understood here (%.1f %%), %d refused by the reference",
		len(questions), pairs, differ, apart, unread, 100*float64(unread)/float64(len(questions)), refused)
}

// endsOnEvent tells where the reference differs from itself: it has "easter -2
// days-easter +1 day off" open on the Monday of 6 April 2026 and "Apr 3-Apr 6
// off" closed. Here the last day of a range belongs to it in both.
func endsOnEvent(expression string, at time.Time) bool {
	easterMondays := []string{"2025-04-21", "2026-04-06", "2027-03-29", "2028-04-17"}
	return strings.Contains(expression, "-easter +1 day") && slices.Contains(easterMondays, at.Format(time.DateOnly))
}

// bavaria takes the holidays from the reference, so that both use the same.
func bavaria(t *testing.T, zone *time.Location) hours.Calendar {
	var noons []int64
	for d := time.Date(2024, 12, 1, 12, 0, 0, 0, zone); d.Year() < 2029; d = d.AddDate(0, 0, 1) {
		noons = append(noons, d.Unix())
	}
	answers := ask(t, []question{{"PH", noons}, {"SH", noons}})
	set := func(a answer) func(int, time.Month, int) bool {
		if a.Error != "" {
			t.Fatal(a.Error)
		}
		days := map[string]bool{}
		for i, s := range a.States {
			days[time.Unix(noons[i], 0).In(zone).Format(time.DateOnly)] = s == hours.Open
		}
		return func(y int, m time.Month, d int) bool { return days[fmt.Sprintf("%04d-%02d-%02d", y, m, d)] }
	}
	return hours.Calendar{Public: set(answers[0]), School: set(answers[1])}
}

// expressions gives the distinct expressions of the list and the open data,
// and combinations of their parts.
func expressions(t *testing.T, rng *rand.Rand) []string {
	file, err := os.Open(filepath.Join("testdata", "practice.txt"))
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	var out []string
	for lines := bufio.NewScanner(file); lines.Scan(); {
		out = append(out, lines.Text())
	}
	for _, name := range []string{"static-example.csv", "problem-rows.csv"} {
		out = append(out, columnOf(t, name, "horaires")...)
	}
	days := []string{"Mo-Fr", "Mo-Sa", "Mo-Su", "Sa", "Su", "Sa,Su", "Mo,We,Fr", "Tu-Th", "Fr-Su", "Su,PH", "PH", "SH", "Th[1]", ""}
	times := []string{"08:00-18:00", "06:00-22:00", "00:00-24:00", "09:00-12:00,13:00-17:30", "20:00-02:00", "07:00-00:00", "10:00+", "16:00-23:00", "off", "unknown"}
	dates := []string{"", "", "", "Apr-Sep ", "Oct-Mar ", "Dec 24-26 ", "Dec 15-Jan 10 ", "Jul ", "2027 ", "week 20-30 "}
	joins := []string{"; ", "; ", "; ", ", ", " || "}
	for range 300 {
		var b strings.Builder
		for i := range 1 + rng.IntN(3) {
			if i > 0 {
				b.WriteString(joins[rng.IntN(len(joins))])
			}
			b.WriteString(strings.TrimSpace(dates[rng.IntN(len(dates))] + days[rng.IntN(len(days))] + " " + times[rng.IntN(len(times))]))
		}
		out = append(out, b.String())
	}
	slices.Sort(out)
	return slices.Compact(out)
}

func columnOf(t *testing.T, name, column string) []string {
	base := os.Getenv("AMPLEWAY_OPEN_DATA")
	if base == "" {
		base = filepath.Join(testdata.Root(), "..", "shared", "data")
	}
	file, err := os.Open(filepath.Join(base, "irve", name))
	if err != nil {
		t.Logf("left out: the open data irve/%s is not here", name)
		return nil
	}
	defer file.Close()
	rows, err := csv.NewReader(file).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	at := slices.Index(rows[0], column)
	var out []string
	for _, row := range rows[1:] {
		out = append(out, row[at])
	}
	return out
}

// instants draws times of 2025 to 2027, half of them at or a minute beside a
// clock time that the expression names.
func instants(expr string, rng *rand.Rand, zone *time.Location, n int) []int64 {
	var named []int
	for i := 0; i+5 <= len(expr); i++ {
		var h, m int
		if got, _ := fmt.Sscanf(expr[i:i+5], "%02d:%02d", &h, &m); got == 2 {
			named = append(named, h*60+m)
		}
	}
	out := make([]int64, n)
	for i := range out {
		minute := rng.IntN(24 * 60)
		if i%2 == 0 && len(named) > 0 {
			minute = named[rng.IntN(len(named))] + rng.IntN(3) - 1
		}
		out[i] = time.Date(2025, 1, 1+rng.IntN(3*365), 0, minute, 0, 0, zone).Unix()
	}
	return out
}
