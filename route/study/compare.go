package study

import (
	"bytes"
	"fmt"
	"io"
	"math"
	"slices"
	"strings"
	"text/tabwriter"

	"ampleway/data/fault"
	"ampleway/data/wording"
)

// Comparison is what changed from one folder of results, A, to another, B.
// Cases are matched by corridor, car, weather, outage, reserve and departure;
// every figure is about cases that are in both.
type Comparison struct {
	Format    string             `json:"format"`
	A         string             `json:"a"`
	B         string             `json:"b"`
	Differ    []string           `json:"differ"`      // inputs of one name and other contents
	JobsLeftA int                `json:"jobs_left_a"` // above 0: A is not complete
	JobsLeftB int                `json:"jobs_left_b"`
	Corridors []CorridorCompared `json:"corridors"`
	OnlyA     []string           `json:"only_a"` // corridors
	OnlyB     []string           `json:"only_b"`
}

// CorridorCompared is what changed on a corridor. Minutes and reserves are B
// less A, over the cases that can be made in both; nil where there are none.
type CorridorCompared struct {
	Name         string   `json:"name"`
	OtherRoad    bool     `json:"other_road"` // the roads of one name differ
	Cases        int64    `json:"cases"`      // in both
	OnlyA        int64    `json:"only_a"`
	OnlyB        int64    `json:"only_b"`
	OnlyAValues  []string `json:"only_a_values"` // of the axes, such as "temp_c -15"
	OnlyBValues  []string `json:"only_b_values"`
	Gained       int64    `json:"gained"`        // can be made in B alone
	Lost         int64    `json:"lost"`          // can be made in A alone
	Both         int64    `json:"both_feasible"` // can be made in both
	MeanMin      *float64 `json:"mean_min"`
	MostMin      *float64 `json:"most_min"` // the greatest change either way
	Reserves     int64    `json:"reserves"` // highest reserves that are in both: one a car, a day, an outage and a departure
	MeanReserve  *float64 `json:"mean_reserve_points"`
	LeastReserve *float64 `json:"least_reserve_points"` // the worst change
}

// caseKey tells cases apart within a corridor.
type caseKey struct {
	car, surface, windFrom, asked, outage         string
	tempC, windKMH, speed, conf, reserve, departs float64
}

func keyOf(r *Row) caseKey {
	return caseKey{r.Car, r.Surface, r.windFrom(), r.Asked, r.Outage, r.TempC, r.WindKMH, r.SpeedCapKMH, r.ConfidencePct, r.ReservePct, r.DepartSoCPct}
}

// axisValues are the values that a case has on the axes, each with its axis.
func (k *caseKey) axisValues() []string {
	outage := k.outage
	if outage == "" {
		outage = "none"
	}
	out := []string{
		"car " + k.car, "temp_c " + number(k.tempC), "wind_kmh " + number(k.windKMH), "wind_from_deg " + k.windFrom, "surface " + k.surface,
		"speed_cap_kmh " + number(k.speed), "confidence_pct " + number(k.conf), "outage " + outage, "reserve_pct " + number(k.reserve), "depart_soc_pct " + number(k.departs),
	}
	for asked := range strings.SplitSeq(k.asked, ";") {
		if key, value, ok := strings.Cut(asked, "="); ok {
			out = append(out, key+" "+value)
		}
	}
	return out
}

// frontier is what a highest reserve belongs to: a case at any reserve.
func (k caseKey) frontier() caseKey {
	k.reserve = 0
	return k
}

// day is a case at any reserve and departure.
func (k caseKey) day() caseKey {
	k.reserve, k.departs = 0, 0
	return k
}

// caseFigures are what is compared of a case.
type caseFigures struct {
	feasible      bool
	time, highest *float64
	matched       bool
}

// Compare reads two folders of results, a corridor at a time.
func Compare(a, b string) (*Comparison, error) {
	before, after, err := openBoth(a, b)
	if err != nil {
		return nil, err
	}
	defer before.rows.close()
	defer after.rows.close()
	out := &Comparison{
		Format: ComparisonFormat, A: a, B: b, Differ: differing(before.manifest.Inputs, after.manifest.Inputs),
		JobsLeftA: before.manifest.JobsLeft, JobsLeftB: after.manifest.JobsLeft,
		Corridors: []CorridorCompared{}, OnlyA: []string{}, OnlyB: []string{},
	}
	at := 0
	for _, c := range before.manifest.Corridors {
		found := after.find(c.Name, at)
		if found < 0 {
			if after.find(c.Name, 0) >= 0 {
				return nil, &fault.Input{File: b, Found: "corridor " + c.Name + " in another place", Expected: "the corridors of both in one order"}
			}
			out.OnlyA = append(out.OnlyA, c.Name)
			if err := before.rows.next(c.Cases, drop); err != nil {
				return nil, err
			}
			continue
		}
		for ; at < found; at++ {
			out.OnlyB = append(out.OnlyB, after.manifest.Corridors[at].Name)
			if err := after.rows.next(after.manifest.Corridors[at].Cases, drop); err != nil {
				return nil, err
			}
		}
		compared, err := compareCorridor(before.rows, after.rows, c, after.manifest.Corridors[at].Cases)
		if err != nil {
			return nil, err
		}
		compared.OtherRoad = c.SHA256 != after.manifest.Corridors[at].SHA256
		out.Corridors = append(out.Corridors, compared)
		at++
	}
	for ; at < len(after.manifest.Corridors); at++ {
		out.OnlyB = append(out.OnlyB, after.manifest.Corridors[at].Name)
	}
	return out, nil
}

// differing lists the inputs that both have under one name with other contents.
func differing(a, b []FileHash) []string {
	out := []string{}
	for _, f := range a {
		if slices.ContainsFunc(b, func(g FileHash) bool { return g.Name == f.Name && g.SHA256 != f.SHA256 }) {
			out = append(out, f.Name)
		}
	}
	return out
}

func drop([]Row) error { return nil }

// results is an open folder of results.
type results struct {
	manifest *Manifest
	rows     *rowReader
}

func openBoth(a, b string) (before, after *results, err error) {
	if before, err = openResults(a); err != nil {
		return nil, nil, err
	}
	if after, err = openResults(b); err != nil {
		before.rows.close()
		return nil, nil, err
	}
	return before, after, nil
}

func openResults(folder string) (*results, error) {
	m, err := ReadManifest(folder)
	if err != nil {
		return nil, err
	}
	rows, err := openRows(folder)
	return &results{m, rows}, err
}

// find is the place of a corridor in the manifest, from a place on; −1 for none.
func (r *results) find(name string, from int) int {
	for i := from; i < len(r.manifest.Corridors); i++ {
		if r.manifest.Corridors[i].Name == name {
			return i
		}
	}
	return -1
}

func compareCorridor(a, b *rowReader, in CorridorSummary, casesB int64) (CorridorCompared, error) {
	t := tally{known: make(map[caseKey]*caseFigures, in.Cases), frontiers: map[caseKey]bool{}, onlyB: map[caseKey]bool{}}
	t.out = CorridorCompared{Name: in.Name, OnlyAValues: []string{}, OnlyBValues: []string{}}
	err := a.next(in.Cases, func(rows []Row) error {
		for i := range rows {
			t.known[keyOf(&rows[i])] = &caseFigures{rows[i].Feasible, rows[i].TimeMin, rows[i].HighestPct, false}
		}
		return nil
	})
	if err != nil {
		return t.out, err
	}
	err = b.next(casesB, func(rows []Row) error {
		for i := range rows {
			t.match(keyOf(&rows[i]), &caseFigures{rows[i].Feasible, rows[i].TimeMin, rows[i].HighestPct, true})
		}
		return nil
	})
	t.finish()
	return t.out, err
}

// tally adds up what changed on a corridor. A case that stands twice in the
// results is one.
type tally struct {
	out              CorridorCompared
	known            map[caseKey]*caseFigures // of A
	frontiers, onlyB map[caseKey]bool
	minutes, points  float64
}

func (t *tally) match(key caseKey, b *caseFigures) {
	a := t.known[key]
	switch {
	case a == nil:
		t.onlyB[key] = true
		return
	case a.matched:
		return
	}
	a.matched = true
	c := &t.out
	c.Cases++
	switch {
	case a.feasible && b.feasible:
		c.Both++
		change := *b.time - *a.time
		t.minutes += change
		if c.MostMin == nil || math.Abs(change) > math.Abs(*c.MostMin) {
			c.MostMin = &change
		}
	case b.feasible:
		c.Gained++
	case a.feasible:
		c.Lost++
	}
	if f := key.frontier(); a.highest != nil && b.highest != nil && !t.frontiers[f] {
		t.frontiers[f] = true
		c.Reserves++
		change := *b.highest - *a.highest
		t.points += change
		if c.LeastReserve == nil || change < *c.LeastReserve {
			c.LeastReserve = &change
		}
	}
}

func (t *tally) finish() {
	c := &t.out
	if c.Both > 0 {
		mean := t.minutes / float64(c.Both)
		c.MeanMin = &mean
	}
	if c.Reserves > 0 {
		mean := t.points / float64(c.Reserves)
		c.MeanReserve = &mean
	}
	c.OnlyA, c.OnlyB = int64(len(t.known))-c.Cases, int64(len(t.onlyB))
	if c.OnlyA+c.OnlyB == 0 {
		return
	}
	inA, inB := map[string]bool{}, map[string]bool{}
	for key, figures := range t.known {
		for _, v := range key.axisValues() {
			inA[v] = true
			inB[v] = inB[v] || figures.matched
		}
	}
	for key := range t.onlyB {
		for _, v := range key.axisValues() {
			inB[v] = true
		}
	}
	c.OnlyAValues, c.OnlyBValues = less(inA, inB), less(inB, inA)
}

// less lists what is in a and not in b.
func less(a, b map[string]bool) []string {
	out := []string{}
	for v, ok := range a {
		if ok && !b[v] {
			out = append(out, v)
		}
	}
	slices.Sort(out)
	return out
}

// WriteText writes a comparison for people.
func (c *Comparison) WriteText(w io.Writer) error {
	var b bytes.Buffer
	fmt.Fprintf(&b, "From %s (the first) to %s (the second)\n", c.A, c.B)
	if len(c.Differ) > 0 {
		fmt.Fprintf(&b, "What differs between them: %s.\n", strings.Join(c.Differ, ", "))
	}
	for i, left := range []int{c.JobsLeftA, c.JobsLeftB} {
		if left > 0 {
			fmt.Fprintf(&b, "NOT COMPLETE: in the %s %s still to be done.\n", ordinals[i], wording.CountIs(left, "job"))
		}
	}
	if len(c.Corridors) == 0 {
		b.WriteString("No corridor is in both: there is nothing to compare.\n")
	}
	b.WriteString("\nCases that are in both: minutes of those that can be made in both; highest reserves in percentage points of charge\n")
	t := tabwriter.NewWriter(&b, 0, 0, 2, ' ', 0)
	fmt.Fprintln(t, "  corridor\tcases\tnow possible\tno longer\tmin, mean\tmin, most\thighest reserve, mean\tworst")
	for _, x := range c.Corridors {
		fmt.Fprintf(t, "  %s\t%d\t%d\t%d\t%s\t%s\t%s\t%s\n", x.Name, x.Cases, x.Gained, x.Lost, change(x.MeanMin), change(x.MostMin), change(x.MeanReserve), change(x.LeastReserve))
	}
	t.Flush()
	for _, x := range c.Corridors {
		if x.OtherRoad {
			fmt.Fprintf(&b, "  %s: the roads of this name differ\n", x.Name)
		}
		onlyIn(&b, x.Name, ordinals[0], x.OnlyA, x.OnlyAValues)
		onlyIn(&b, x.Name, ordinals[1], x.OnlyB, x.OnlyBValues)
	}
	for i, only := range [][]string{c.OnlyA, c.OnlyB} {
		for _, name := range only {
			fmt.Fprintf(&b, "  only in the %s: corridor %s\n", ordinals[i], name)
		}
	}
	_, err := w.Write(b.Bytes())
	return err
}

var ordinals = [2]string{"first", "second"}

func change(v *float64) string {
	if v == nil {
		return "-"
	}
	return fmt.Sprintf("%+.1f", *v)
}

// onlyIn names the cases of a corridor that are in one of two results alone.
func onlyIn(b *bytes.Buffer, corridor, which string, n int64, values []string) {
	const most = 6
	if n == 0 {
		return
	}
	fmt.Fprintf(b, "  %s: %s only in the %s", corridor, wording.CountIs(n, "case"), which)
	if len(values) > 0 {
		fmt.Fprintf(b, ": %s", strings.Join(values[:min(most, len(values))], ", "))
	}
	if len(values) > most {
		fmt.Fprintf(b, " and %d more", len(values)-most)
	}
	b.WriteString("\n")
}
