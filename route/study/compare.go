package study

import (
	"bytes"
	"fmt"
	"io"
	"text/tabwriter"

	"ampleway/data/fault"
)

// Comparison is what changed from one folder of results, A, to another, B.
// Cases are matched by corridor, car, weather, outage, reserve and departure.
type Comparison struct {
	Format    string             `json:"format"`
	A         string             `json:"a"`
	B         string             `json:"b"`
	Corridors []CorridorCompared `json:"corridors"`
	OnlyA     []string           `json:"only_a"` // corridors
	OnlyB     []string           `json:"only_b"`
}

// CorridorCompared is what changed on a corridor. Minutes and reserves are B
// less A.
type CorridorCompared struct {
	Name          string  `json:"name"`
	Cases         int64   `json:"cases"` // in both
	OnlyA         int64   `json:"only_a"`
	OnlyB         int64   `json:"only_b"`
	Gained        int64   `json:"gained"` // can be made in B alone
	Lost          int64   `json:"lost"`   // can be made in A alone
	MeanMin       float64 `json:"mean_min"`
	MostMin       float64 `json:"most_min"` // the greatest change either way
	MeanReserve   float64 `json:"mean_reserve_points"`
	LeastReserve  float64 `json:"least_reserve_points"` // the worst change
	bothFeasible  int64
	bothFrontiers int64
}

// caseKey tells cases apart within a corridor.
type caseKey struct {
	car, surface, outage                                   string
	tempC, windKMH, windDeg, speed, conf, reserve, departs float64
}

func keyOf(r *Row) caseKey {
	return caseKey{r.Car, r.Surface, r.Outage, r.TempC, r.WindKMH, r.WindFromDeg, r.SpeedCapKMH, r.ConfidencePct, r.ReservePct, r.DepartSoCPct}
}

// caseFigures are what is compared of a case.
type caseFigures struct {
	feasible      bool
	time, highest *float64
}

// Compare reads two folders of results, a corridor at a time.
func Compare(a, b string) (*Comparison, error) {
	before, after, err := openBoth(a, b)
	if err != nil {
		return nil, err
	}
	defer before.rows.close()
	defer after.rows.close()
	out := &Comparison{Format: ComparisonFormat, A: a, B: b, Corridors: []CorridorCompared{}, OnlyA: []string{}, OnlyB: []string{}}
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
		out.Corridors = append(out.Corridors, compared)
		at++
	}
	for ; at < len(after.manifest.Corridors); at++ {
		out.OnlyB = append(out.OnlyB, after.manifest.Corridors[at].Name)
	}
	return out, nil
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
	out := CorridorCompared{Name: in.Name}
	known := make(map[caseKey]caseFigures, in.Cases)
	err := a.next(in.Cases, func(rows []Row) error {
		for i := range rows {
			known[keyOf(&rows[i])] = caseFigures{rows[i].Feasible, rows[i].TimeMin, rows[i].HighestPct}
		}
		return nil
	})
	if err != nil {
		return out, err
	}
	err = b.next(casesB, func(rows []Row) error {
		for i := range rows {
			key := keyOf(&rows[i])
			before, ok := known[key]
			if !ok {
				out.OnlyB++
				continue
			}
			delete(known, key)
			out.add(before, caseFigures{rows[i].Feasible, rows[i].TimeMin, rows[i].HighestPct})
		}
		return nil
	})
	out.OnlyA = int64(len(known))
	out.MeanMin /= float64(max(out.bothFeasible, 1))
	out.MeanReserve /= float64(max(out.bothFrontiers, 1))
	return out, err
}

func (c *CorridorCompared) add(a, b caseFigures) {
	c.Cases++
	switch {
	case a.feasible && b.feasible:
		c.bothFeasible++
		change := *b.time - *a.time
		c.MeanMin += change
		if change*change > c.MostMin*c.MostMin {
			c.MostMin = change
		}
	case b.feasible:
		c.Gained++
	case a.feasible:
		c.Lost++
	}
	if a.highest != nil && b.highest != nil {
		change := *b.highest - *a.highest
		if c.bothFrontiers == 0 || change < c.LeastReserve {
			c.LeastReserve = change
		}
		c.bothFrontiers++
		c.MeanReserve += change
	}
}

// WriteText writes a comparison for people.
func (c *Comparison) WriteText(w io.Writer) error {
	var b bytes.Buffer
	fmt.Fprintf(&b, "From %s to %s\n\n", c.A, c.B)
	t := tabwriter.NewWriter(&b, 0, 0, 2, ' ', 0)
	fmt.Fprintln(t, "  corridor\tcases\tnow possible\tno longer\tmin, mean\tmin, most\thighest reserve, mean\tworst")
	for _, x := range c.Corridors {
		fmt.Fprintf(t, "  %s\t%d\t%d\t%d\t%+.1f\t%+.1f\t%+.1f\t%+.1f\n", x.Name, x.Cases, x.Gained, x.Lost, x.MeanMin, x.MostMin, x.MeanReserve, x.LeastReserve)
	}
	t.Flush()
	for _, x := range c.Corridors {
		if x.OnlyA+x.OnlyB > 0 {
			fmt.Fprintf(&b, "  %s: %d cases only in the first, %d only in the second\n", x.Name, x.OnlyA, x.OnlyB)
		}
	}
	for _, name := range c.OnlyA {
		fmt.Fprintf(&b, "  only in the first: %s\n", name)
	}
	for _, name := range c.OnlyB {
		fmt.Fprintf(&b, "  only in the second: %s\n", name)
	}
	_, err := w.Write(b.Bytes())
	return err
}
