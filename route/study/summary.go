package study

import (
	"cmp"
	"math"
	"slices"
)

// Summary is what a study comes to.
type Summary struct {
	Format    string         `json:"format"`
	Name      string         `json:"name,omitempty"`
	Note      string         `json:"note,omitempty"`
	Cases     int64          `json:"cases"`
	Feasible  int64          `json:"feasible"`
	Ranking   []int          `json:"ranking"`                            // numbers of corridors, the one that fails first at the front
	NoChance  []string       `json:"cars_without_probability,omitempty"` // cars for which how often a margin suffices is not known
	Heat      []Cell         `json:"heat"`
	Corridors []CorridorView `json:"corridors"`
	Credits   []string       `json:"credits"` // whose the roads and stations are, see trip.Credits; to be shown with it
	Manifest  *Manifest      `json:"-"`
}

func newSummary(name, note string) *Summary {
	return &Summary{Format: SummaryFormat, Name: name, Note: note, Corridors: []CorridorView{}, Credits: []string{}}
}

// Cell counts the cases of a temperature and a reserve, all stations working.
type Cell struct {
	TempC      float64 `json:"temp_c"`
	ReservePct float64 `json:"reserve_pct"`
	Cases      int64   `json:"cases"`
	Feasible   int64   `json:"feasible"`
}

// CorridorView is what a study says about one corridor. Unless they say
// otherwise the figures are about cases with all stations working.
type CorridorView struct {
	Number      int         `json:"number"`
	Name        string      `json:"name"`
	LengthKM    float64     `json:"length_km"`
	Stations    int         `json:"stations"` // beside the road in the station files, of use to a car or not
	NoData      bool        `json:"no_data"`  // no station at all, and cases that cannot be made without one
	Cases       int64       `json:"cases"`    // with every outage
	Feasible    int64       `json:"feasible"`
	Outages     OutageCount `json:"outages"`
	Heat        []Cell      `json:"heat"`
	Frontiers   []Frontier  `json:"frontiers"`
	Curves      []Curve     `json:"curves"`
	First       *Failure    `json:"first_failure,omitempty"`
	Stretches   []Stretch   `json:"stretches"` // where cases fail, the most frequent first
	WorstOutage *OutageView `json:"worst_outage,omitempty"`
	GapFromKM   float64     `json:"gap_from_km"` // longest without a charger that the car could use
	GapToKM     float64     `json:"gap_to_km"`
	Chargers    []Mark      `json:"chargers"` // that the first car can use
	Build       []BuildView `json:"build"`
}

// Frontier is the highest reserve that a car can keep at a temperature: at the
// least favourable of the other axes and at the most favourable. Nil: not even
// with none.
type Frontier struct {
	Car      string   `json:"car"`
	TempC    float64  `json:"temp_c"`
	LeastPct *float64 `json:"least_pct"`
	MostPct  *float64 `json:"most_pct"`
	NoChance bool     `json:"without_probability,omitempty"` // how often a margin suffices is not known for the car
}

// Curve is the time against the reserve, the other axes at their first value
// and the departure at its last. Nil: cannot be made.
type Curve struct {
	Car         string     `json:"car"`
	TempC       float64    `json:"temp_c"`
	ReservesPct []float64  `json:"reserves_pct"`
	TimesMin    []*float64 `json:"times_min"`
	HighestPct  *float64   `json:"highest_reserve_pct"`
}

// Failure is a case that cannot be made.
type Failure struct {
	TempC        float64 `json:"temp_c"`
	ReservePct   float64 `json:"reserve_pct"`
	DepartSoCPct float64 `json:"depart_soc_pct"`
	Car          string  `json:"car"`
	WindKMH      float64 `json:"wind_kmh"`
	Surface      string  `json:"surface"`
	Asked        string  `json:"asked,omitempty"` // on the other axes, KEY=VALUE with ";" between
	Why          string  `json:"why"`
	FromKM       float64 `json:"from_km"`
	ToKM         float64 `json:"to_km"`
	MissingKWh   float64 `json:"missing_kwh"`
}

// Stretch is a piece of road on which cases fail.
type Stretch struct {
	FromKM         float64 `json:"from_km"`
	ToKM           float64 `json:"to_km"`
	Cases          int64   `json:"cases"`
	MostMissingKWh float64 `json:"most_missing_kwh"`
}

// OutageCount counts the cases with stations out of order.
type OutageCount struct {
	Sets     int   `json:"sets"` // different sets of stations that are out
	Cases    int64 `json:"cases"`
	Feasible int64 `json:"feasible"`
}

// OutageView is the site whose loss hurts most cases most.
type OutageView struct {
	Site    string  `json:"site"` // its ID
	Name    string  `json:"name"`
	KM      float64 `json:"km"`
	Ends    int64   `json:"ends_cases"` // that cannot be made without it
	Worst   int64   `json:"worst_in_cases"`
	MostMin float64 `json:"most_min"`
}

// Mark is a charger on the corridor.
type Mark struct {
	KM      float64 `json:"km"`
	PowerKW float64 `json:"power_kw"`
	Name    string  `json:"name"`
}

// Landmark is a station by which a place on the road is found.
type Landmark struct {
	Name string  `json:"name"`
	KM   float64 `json:"km"`
}

// BuildView is what one more station would bring. MinutesSaved is the sum over
// Trips, ReservePoints the sum over Reserves: percentage points of charge by
// which the highest reserve of a car, a day and a departure rises, a trip that
// cannot be made counting as a reserve of 0.
type BuildView struct {
	KM             float64   `json:"km"`
	After          *Landmark `json:"after,omitempty"`  // the last station before it on the road
	Before         *Landmark `json:"before,omitempty"` // the next one
	PowerKW        float64   `json:"power_kw"`
	Lon            float64   `json:"lon"`
	Lat            float64   `json:"lat"`
	MadePossible   int       `json:"cases_made_possible"`
	MinutesSaved   float64   `json:"minutes_saved"`
	Trips          int       `json:"trips"` // that can be made with it and without
	ReservePoints  float64   `json:"reserve_points"`
	Reserves       int       `json:"reserves"`
	BestForTime    bool      `json:"best_for_time,omitempty"`
	BestForReserve bool      `json:"best_for_reserve,omitempty"`
}

// corridorState adds up the rows of a corridor.
type corridorState struct {
	number          int
	name            string
	cases, feasible int64
	strip           Strip
	gains           []Gain
	heat            ledger[[2]float64, Cell]
	frontiers       ledger[carTemp, Frontier]
	curves          ledger[carTemp, Curve]
	curveOf         map[carTemp]caseKey
	first           *Failure
	stretches       ledger[[2]float64, Stretch]
	outages         ledger[string, OutageView]
	out             OutageCount
	outSets         map[string]bool
	gapKM           [2]float64
}

type carTemp struct {
	car  string
	temp float64
}

// ledger keeps entries in the order they came.
type ledger[K comparable, V any] struct {
	at      map[K]int
	entries []V
}

func (l *ledger[K, V]) entry(key K, begin V) *V {
	if l.at == nil {
		l.at = map[K]int{}
	}
	i, ok := l.at[key]
	if !ok {
		i = len(l.entries)
		l.at[key] = i
		l.entries = append(l.entries, begin)
	}
	return &l.entries[i]
}

func newCorridorState(number int, name string) *corridorState {
	return &corridorState{number: number, name: name, curveOf: map[carTemp]caseKey{}, outSets: map[string]bool{}}
}

func (c *corridorState) take(rows []Row) {
	for i := range rows {
		r := &rows[i]
		c.cases++
		if r.Feasible {
			c.feasible++
		}
		c.outage(r)
		if r.Outage == "" {
			c.working(r)
		} else {
			c.broken(r)
		}
	}
}

// broken takes a row with stations out of order.
func (c *corridorState) broken(r *Row) {
	c.outSets[r.Outage] = true
	c.out.Cases++
	if r.Feasible {
		c.out.Feasible++
	}
}

// working takes a row with all stations working.
func (c *corridorState) working(r *Row) {
	cell := c.heat.entry([2]float64{r.TempC, r.ReservePct}, Cell{TempC: r.TempC, ReservePct: r.ReservePct})
	cell.Cases++
	if r.Feasible {
		cell.Feasible++
	} else {
		c.failure(r)
	}
	key := carTemp{r.Car, r.TempC}
	before := len(c.frontiers.entries)
	f := c.frontiers.entry(key, Frontier{Car: r.Car, TempC: r.TempC, LeastPct: r.HighestPct, MostPct: r.HighestPct})
	if before == len(c.frontiers.entries) {
		f.LeastPct = lesser(f.LeastPct, r.HighestPct)
		f.MostPct = greater(f.MostPct, r.HighestPct)
	}
	f.NoChance = f.NoChance || r.Feasible && r.BelowPct == nil
	if *r.GapToKM-*r.GapFromKM > c.gapKM[1]-c.gapKM[0] {
		c.gapKM = [2]float64{*r.GapFromKM, *r.GapToKM}
	}
	c.curve(key, r)
}

// curve keeps the time against the reserve for the last departure of the first
// block and confidence that a car and a temperature are met with.
func (c *corridorState) curve(key carTemp, r *Row) {
	day := keyOf(r).day()
	lead, ok := c.curveOf[key]
	if !ok {
		lead = day
		c.curveOf[key] = lead
	}
	if day != lead {
		return
	}
	v := c.curves.entry(key, Curve{Car: r.Car, TempC: r.TempC})
	n := len(v.ReservesPct)
	if n == 0 || v.ReservesPct[n-1] != r.ReservePct {
		v.ReservesPct, v.TimesMin = append(v.ReservesPct, r.ReservePct), append(v.TimesMin, nil)
		n++
	}
	v.TimesMin[n-1], v.HighestPct = r.TimeMin, r.HighestPct
}

func (c *corridorState) failure(r *Row) {
	s := c.stretches.entry([2]float64{*r.FailFromKM, *r.FailToKM}, Stretch{FromKM: *r.FailFromKM, ToKM: *r.FailToKM})
	s.Cases++
	s.MostMissingKWh = max(s.MostMissingKWh, *r.MissingKWh)
	if c.first != nil && (r.TempC < c.first.TempC || r.TempC == c.first.TempC && r.ReservePct >= c.first.ReservePct) {
		return
	}
	c.first = &Failure{r.TempC, r.ReservePct, r.DepartSoCPct, r.Car, r.WindKMH, r.Surface, r.Asked, r.Why, *r.FailFromKM, *r.FailToKM, *r.MissingKWh}
}

func (c *corridorState) outage(r *Row) {
	if r.WorstOutage == "" {
		return
	}
	o := c.outages.entry(r.WorstOutage, OutageView{Site: r.WorstOutage})
	o.Worst++
	if *r.WorstEnds {
		o.Ends++
	} else {
		o.MostMin = max(o.MostMin, *r.WorstOutMin)
	}
}

func (c *corridorState) gain(gains []Gain) {
	if c.gains == nil {
		c.gains = gains
		return
	}
	for i := range gains {
		c.gains[i].add(gains[i])
	}
}

func (c *corridorState) view() CorridorView {
	v := CorridorView{
		Number: c.number, Name: c.name, LengthKM: c.strip.LengthM / 1000, Cases: c.cases, Feasible: c.feasible,
		Stations: len(c.strip.Sites), NoData: len(c.strip.Sites) == 0 && c.feasible < c.cases, Outages: c.out,
		Heat: some(c.heat.entries), Frontiers: some(c.frontiers.entries), Curves: some(c.curves.entries), First: c.first,
		Stretches: some(c.stretches.entries), GapFromKM: c.gapKM[0], GapToKM: c.gapKM[1], Chargers: []Mark{}, Build: []BuildView{},
	}
	v.Outages.Sets = len(c.outSets)
	slices.SortStableFunc(v.Stretches, func(a, b Stretch) int { return cmp.Compare(b.Cases, a.Cases) })
	for _, m := range c.strip.Marks {
		v.Chargers = append(v.Chargers, Mark{m.ChainageM / 1000, m.PowerKW, m.Name})
	}
	for i := range c.outages.entries {
		o := &c.outages.entries[i]
		if w := v.WorstOutage; w == nil || o.Ends > w.Ends || o.Ends == w.Ends && o.MostMin > w.MostMin {
			v.WorstOutage = o
		}
	}
	if o := v.WorstOutage; o != nil {
		c.locate(o)
	}
	v.Build = c.builds()
	return v
}

// locate gives a site its name and its place on the road.
func (c *corridorState) locate(o *OutageView) {
	o.Name = o.Site
	for _, s := range c.strip.Sites {
		if s.ID == o.Site {
			o.Name, o.KM = s.Name, s.ChainageM/1000
			return
		}
	}
}

// between gives the stations on both sides of a place on the road.
func (c *corridorState) between(chainageM float64) (after, before *Landmark) {
	for _, s := range c.strip.Sites {
		l := &Landmark{s.Name, s.ChainageM / 1000}
		if s.ChainageM > chainageM {
			return after, l
		}
		after = l
	}
	return after, nil
}

func some[T any](list []T) []T {
	if list == nil {
		return []T{}
	}
	return list
}

// builds lists the candidates and marks the best: of equal ones the first.
func (c *corridorState) builds() []BuildView {
	out := []BuildView{}
	time, reserve := -1, -1
	for i := range c.gains {
		g := &c.gains[i]
		b := BuildView{KM: g.ChainageM / 1000, PowerKW: g.PowerKW, MadePossible: g.Possible, MinutesSaved: g.Minutes, Trips: g.Trips, ReservePoints: g.Reserve, Reserves: g.Reserves}
		b.After, b.Before = c.between(g.ChainageM)
		if i < len(c.strip.Lon) {
			b.Lon, b.Lat = c.strip.Lon[i], c.strip.Lat[i]
		}
		out = append(out, b)
		if (g.Possible > 0 || g.Minutes > 0) && (time < 0 || g.more(&c.gains[time])) {
			time = i
		}
		if g.Reserve > 0 && (reserve < 0 || g.Reserve > c.gains[reserve].Reserve) {
			reserve = i
		}
	}
	if time >= 0 {
		out[time].BestForTime = true
	}
	if reserve >= 0 {
		out[reserve].BestForReserve = true
	}
	return out
}

// lesser and greater compare frontiers; nil is below all.
func lesser(a, b *float64) *float64 {
	if a == nil || b == nil {
		return nil
	}
	if *b < *a {
		return b
	}
	return a
}

func greater(a, b *float64) *float64 {
	if a == nil || b != nil && *b > *a {
		return b
	}
	return a
}

// credit adds credits that the summary does not have.
func (s *Summary) credit(credits []string) {
	for _, c := range credits {
		if !slices.Contains(s.Credits, c) {
			s.Credits = append(s.Credits, c)
		}
	}
}

// finish fills what is about all corridors.
func (s *Summary) finish(m *Manifest) {
	s.Manifest, s.Cases, s.Feasible = m, m.Cases, m.Feasible
	var heat ledger[[2]float64, Cell]
	for i := range s.Corridors {
		if s.Corridors[i].NoData {
			continue
		}
		for _, f := range s.Corridors[i].Frontiers {
			if f.NoChance && !slices.Contains(s.NoChance, f.Car) {
				s.NoChance = append(s.NoChance, f.Car)
			}
		}
		for _, c := range s.Corridors[i].Heat {
			cell := heat.entry([2]float64{c.TempC, c.ReservePct}, Cell{TempC: c.TempC, ReservePct: c.ReservePct})
			cell.Cases += c.Cases
			cell.Feasible += c.Feasible
		}
	}
	slices.Sort(s.Credits)
	s.Heat = some(heat.entries)
	s.Ranking = s.rank()
}

// rank puts first the corridor that fails at the mildest temperature, then the
// one with most failures, then the one with the lowest frontier; those without
// data come last.
func (s *Summary) rank() []int {
	order := make([]int, len(s.Corridors))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(i, j int) int {
		a, b := &s.Corridors[i], &s.Corridors[j]
		return cmp.Or(cmp.Compare(a.unknown(), b.unknown()), cmp.Compare(b.failsAtC(), a.failsAtC()), cmp.Compare(a.share(), b.share()), cmp.Compare(a.lowest(), b.lowest()))
	})
	for k, i := range order {
		order[k] = s.Corridors[i].Number
	}
	return order
}

func (c *CorridorView) unknown() int {
	if c.NoData {
		return 1
	}
	return 0
}

func (c *CorridorView) failsAtC() float64 {
	if c.First == nil {
		return math.Inf(-1)
	}
	return c.First.TempC
}

func (c *CorridorView) share() float64 {
	cases, feasible := int64(0), int64(0)
	for _, cell := range c.Heat {
		cases += cell.Cases
		feasible += cell.Feasible
	}
	return float64(feasible) / float64(max(cases, 1))
}

// lowest is the lowest frontier, −1 for a trip that cannot be made at all.
func (c *CorridorView) lowest() float64 {
	low := math.Inf(1)
	for _, f := range c.Frontiers {
		if f.LeastPct == nil {
			return -1
		}
		low = min(low, *f.LeastPct)
	}
	return low
}

// Ranked lists the corridors in order of Ranking.
func (s *Summary) Ranked() []*CorridorView {
	at := map[int]*CorridorView{}
	for i := range s.Corridors {
		at[s.Corridors[i].Number] = &s.Corridors[i]
	}
	out := make([]*CorridorView, 0, len(s.Ranking))
	for _, n := range s.Ranking {
		out = append(out, at[n])
	}
	return out
}
