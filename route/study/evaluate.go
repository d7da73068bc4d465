package study

import (
	"context"
	"errors"
	"math"
	"slices"
	"strings"

	"ampleway/route/stops"
)

// evaluator works out the cases of one block after another in the same memory.
// It is not safe for use by several goroutines at once.
type evaluator struct {
	study   *Study
	planner stops.Planner
	widest  widest
	problem stops.Problem
	plan    stops.Plan
	rooms   []float64
	figures slab[float64]
	counts  slab[int64]
	answers slab[bool]

	n    *numbers
	axes *set
}

// visit is a stop of a plan.
type visit struct {
	charger  int
	leaveSoC float64
	waitS    float64
	money    float64
}

// outcome is what a case came to.
type outcome struct {
	err       *stops.Infeasible
	departSoC float64
	excess    float64 // the plan was made for
	timeS     float64
	row       Row
	visits    []visit
}

// block appends the rows of a block. base has what they share. The reserve
// varies slower than the outage: what the planner tables about pairs of
// charging functions holds as long as the reserve does.
func (e *evaluator) block(ctx context.Context, n *numbers, axes *set, sets [][]bool, base Row, rows []Row) ([]Row, error) {
	e.n, e.axes = n, axes
	for _, confidence := range axes.confidences {
		bases := make([]Row, len(sets))
		frontiers := make([][]float64, len(sets))
		for k, down := range sets {
			bases[k] = base
			bases[k].ConfidencePct, bases[k].Outage = confidence, names(n, down)
			e.gap(&bases[k], down)
			if ctx.Err() != nil {
				return rows, ctx.Err()
			}
			for _, depart := range axes.departs {
				frontiers[k] = append(frontiers[k], e.frontier(confidence/100, depart/100, down))
			}
		}
		for _, reserve := range axes.reserves {
			for k, down := range sets {
				if ctx.Err() != nil {
					return rows, ctx.Err()
				}
				bases[k].ReservePct = reserve
				var err error
				if rows, err = e.departures(bases[k], e.ask(reserve/100, down), frontiers[k], rows); err != nil {
					return rows, err
				}
			}
		}
	}
	return rows, nil
}

func (e *evaluator) ask(reserveSoC float64, down []bool) ask {
	return ask{reserveSoC, e.n.arriveSoC, down}
}

// departures appends the rows of all departures of one ask.
func (e *evaluator) departures(base Row, a ask, frontiers []float64, rows []Row) ([]Row, error) {
	outs := make([]outcome, len(e.axes.departs))
	if err := e.solve(base.ConfidencePct/100, a, outs); err != nil {
		return rows, err
	}
	for i := range outs {
		o := &outs[i]
		depart := e.axes.departs[i]
		o.row = base
		o.row.DepartSoCPct = depart
		if !math.IsInf(frontiers[i], -1) {
			o.row.HighestPct = e.figures.keep(100 * frontiers[i])
		}
		if o.err != nil {
			e.failure(o, a)
			continue
		}
		e.drive(o, a)
		if e.study.Draws > 0 && e.n.drive.Car.Calibrated() {
			e.simulate(o, a)
		}
	}
	if a.down == nil && !e.study.SkipWorstOutage {
		if err := e.worstOutages(base.ConfidencePct/100, a, outs); err != nil {
			return rows, err
		}
	}
	for i := range outs {
		rows = append(rows, outs[i].row)
	}
	return rows, nil
}

// solve plans every departure of one ask. What cannot be planned has its
// outcome's err set to a *stops.Infeasible.
func (e *evaluator) solve(confidence float64, a ask, outs []outcome) error {
	for i := range outs {
		outs[i].departSoC = e.axes.departs[i] / 100
	}
	if confidence > 0 {
		for i := range outs {
			if err := e.solveSurely(confidence, a, outs[i].departSoC, &outs[i]); err != nil {
				return err
			}
		}
		return nil
	}
	fill(&e.problem, e.n.estimate, a)
	if e.n.coupled {
		for i := range outs {
			e.problem.DepartSoC = outs[i].departSoC
			if err := e.note(&outs[i], e.planner.Solve(&e.problem, &e.plan)); err != nil {
				return err
			}
		}
		return nil
	}
	e.problem.DepartSoC = slices.Max(e.axes.departs) / 100
	sweep, err := e.planner.Sweep(&e.problem)
	if err != nil {
		return err
	}
	for i := range outs {
		if err := e.note(&outs[i], sweep.Plan(outs[i].departSoC, &e.plan)); err != nil {
			return err
		}
	}
	return nil
}

// note keeps the answer of the planner.
func (e *evaluator) note(o *outcome, err error) error {
	var no *stops.Infeasible
	if errors.As(err, &no) {
		o.err = no
		return nil
	}
	if err != nil {
		return err
	}
	o.keep(&e.plan)
	return nil
}

// keep takes the stops and the time of a plan.
func (o *outcome) keep(p *stops.Plan) {
	o.timeS = p.TimeS
	o.visits = o.visits[:0]
	for i := range p.Stops {
		s := &p.Stops[i]
		o.visits = append(o.visits, visit{s.Charger, s.LeaveSoC, s.WaitS + s.StayS - s.ChargeS, s.Money})
	}
}

// solveSurely plans for a confidence as trip.Drive.Plan does: the excess of
// consumption that holds with it depends on the number of legs, and that on
// the excess; both are raised until they agree. Then the trip is driven at the
// estimate, the leave rule of that plan deciding.
func (e *evaluator) solveSurely(confidence float64, a ask, departSoC float64, o *outcome) error {
	for legs := 1; ; {
		o.excess = e.n.drive.Excess(confidence, legs)
		fill(&e.problem, e.n.at(o.excess), a)
		e.problem.DepartSoC = departSoC
		if err := e.note(o, e.planner.Solve(&e.problem, &e.plan)); err != nil || o.err != nil {
			return err
		}
		if len(o.visits)+1 <= legs || o.excess == 0 {
			break
		}
		legs = len(o.visits) + 1
	}
	if e.problem.MostStops > 0 || e.n.coupled || o.excess == 0 {
		return nil
	}
	sweep, err := e.planner.Sweep(&e.problem)
	if err != nil {
		return err
	}
	followed, ok := e.n.estimate.Follow(stops.Origin, departSoC, sweep.Policy)
	if !ok {
		return errors.New("study: a stop of a plan leads nowhere")
	}
	o.keep(followed)
	return nil
}

// drive replays an outcome and fills its row.
func (e *evaluator) drive(o *outcome, a ask) {
	p, r := e.n.estimate, &o.row
	floor, arrive := a.reserveSoC*p.CapacityKWh, math.Max(a.reserveSoC, a.destSoC)*p.CapacityKWh
	kWh, least, headroom := o.departSoC*p.CapacityKWh, o.departSoC, math.Inf(1)
	var driveS, dwellS, chargeS, stallS, chargedKWh, money float64
	e.rooms = e.rooms[:0]
	for i, at := 0, stops.Origin; ; i++ {
		to, reserve := stops.Destination, arrive
		if i < len(o.visits) {
			to, reserve = o.visits[i].charger, floor
		}
		leg, doubled := hop(p, at, to), hop(e.n.more, at, to)
		least = min(least, (kWh-leg.NeedKWh)/p.CapacityKWh)
		headroom = min(headroom, room(leg, kWh, floor, reserve))
		drawn := doubled.CostKWh - leg.CostKWh
		e.rooms = append(e.rooms, spare(leg, drawn, kWh, floor, reserve))
		driveS += leg.TimeS
		kWh, _ = leg.ArriveKWh(kWh)
		least = min(least, kWh/p.CapacityKWh)
		if to < 0 {
			break
		}
		v, c := &o.visits[i], &p.Chargers[to]
		now := c.Power.TimeS(kWh/p.CapacityKWh, v.leaveSoC)
		chargeS += now
		stallS += c.OverheadS + v.waitS + now
		dwellS += c.In.TimeS + c.Out.TimeS + c.OverheadS + v.waitS + now
		chargedKWh += v.leaveSoC*p.CapacityKWh - kWh
		money += v.money
		kWh = v.leaveSoC * p.CapacityKWh
		at = to
	}
	o.timeS = driveS + stallS
	r.Feasible = true
	r.TimeMin, r.DriveMin = e.figures.keep(o.timeS/60), e.figures.keep(driveS/60)
	r.DwellMin, r.ChargeMin = e.figures.keep(dwellS/60), e.figures.keep(chargeS/60)
	r.Stops, r.ChargedKWh = e.counts.keep(int64(len(o.visits))), e.figures.keep(chargedKWh)
	r.ArriveSoCPct, r.LeastSoCPct = e.figures.keep(100*kWh/p.CapacityKWh), e.figures.keep(100*least)
	if !math.IsInf(headroom, 1) {
		if math.Abs(headroom) < 1e-12 {
			headroom = 0
		}
		r.HeadroomPct = e.figures.keep(100 * headroom)
	}
	if e.n.drive.Car.Calibrated() {
		r.BelowPct = e.figures.keep(100 * e.n.spread.Breaks(e.rooms))
	}
	r.Sites = e.siteNames(o.visits)
	if currency, ok := e.currency(o.visits); ok {
		r.Cost, r.Currency = e.figures.keep(money), currency
	}
}

// room is the share by which all consumption on a leg may rise before the
// battery goes below floor on the way or below reserve at its end.
func room(leg stops.Leg, kWh, floor, reserve float64) float64 {
	h := math.Inf(1)
	if leg.NeedKWh > 0 {
		h = (kWh - floor) / leg.NeedKWh
	}
	if leg.CostKWh > 0 {
		h = min(h, (kWh-reserve)/leg.CostKWh)
	}
	return h - 1
}

// spare is the same for what the battery gives: what braking brings back stays.
func spare(leg stops.Leg, drawnKWh, kWh, floor, reserve float64) float64 {
	left := min(kWh-floor-leg.NeedKWh, kWh-reserve-leg.CostKWh)
	if drawnKWh <= 0 {
		return math.Inf(1)
	}
	if math.Abs(left) < 1e-9 {
		left = 0
	}
	return left / drawnKWh
}

func (e *evaluator) siteNames(visits []visit) string {
	switch len(visits) {
	case 0:
		return ""
	case 1:
		return e.n.sites[visits[0].charger]
	}
	var b strings.Builder
	for i, v := range visits {
		if i > 0 {
			b.WriteByte(';')
		}
		b.WriteString(e.n.sites[v.charger])
	}
	return b.String()
}

// currency is the one that all stops are counted in; false where a price is not
// known or there are several and no rates.
func (e *evaluator) currency(visits []visit) (string, bool) {
	currency, rates := "", e.n.goal.Rates
	for _, v := range visits {
		price := e.n.drive.Chargers[v.charger].Site.Price
		if price == nil {
			return "", false
		}
		code := price.Currency
		if _, ok := rates.Of(code, rates.Into()); ok {
			code = rates.Into()
		}
		if currency != "" && code != currency {
			return "", false
		}
		currency = code
	}
	return currency, true
}

// failure fills the row of a trip that cannot be made.
func (e *evaluator) failure(o *outcome, a ask) {
	r := &o.row
	fill(&e.problem, e.n.at(o.excess), a)
	e.problem.DepartSoC = o.departSoC
	gap, energy := e.problem.FirstGap()
	if !energy {
		gap = stops.Gap{From: o.err.From, To: o.err.To}
		r.Why = o.err.Why
	}
	if r.Why == "" {
		r.Why = lacksEnergy
	}
	r.FailFromKM = e.figures.keep(e.chainageM(gap.From) / 1000)
	r.FailToKM = e.figures.keep(e.chainageM(gap.To) / 1000)
	r.MissingKWh = e.figures.keep(gap.MissingKWh)
}

// lacksEnergy is Row.Why where the battery is what is too small.
const lacksEnergy = "energy"

func (e *evaluator) chainageM(place int) float64 {
	switch place {
	case stops.Origin:
		return 0
	case stops.Destination:
		return e.n.drive.Profile.LengthM()
	}
	return e.n.drive.Chargers[place].ChainageM
}

// gap fills the longest stretch without a usable charger.
func (e *evaluator) gap(r *Row, down []bool) {
	from, longest := 0.0, -1.0
	r.UsableCount = 0
	take := func(to float64) {
		if to-from > longest {
			longest = to - from
			r.GapFromKM, r.GapToKM = e.figures.keep(from/1000), e.figures.keep(to/1000)
		}
		from = to
	}
	for i := range e.n.drive.Chargers {
		if down == nil || !down[i] {
			take(e.n.drive.Chargers[i].ChainageM)
			r.UsableCount++
		}
	}
	take(e.n.drive.Profile.LengthM())
}

// frontier is the highest reserve that can be kept, as a share; −Inf for none.
func (e *evaluator) frontier(confidence, departSoC float64, down []bool) float64 {
	a := e.ask(0, down)
	dest := a.destSoC
	if confidence == 0 && !e.n.coupled {
		none := a
		none.destSoC = 0
		fill(&e.problem, e.n.estimate, none)
		if v, ok := e.widest.highestReserve(&e.problem, departSoC, dest); ok {
			return v
		}
	}
	return bisect(func(reserve float64) bool {
		a.reserveSoC = reserve
		var o outcome
		if confidence > 0 {
			return e.solveSurely(confidence, a, departSoC, &o) == nil && o.err == nil
		}
		fill(&e.problem, e.n.estimate, a)
		e.problem.DepartSoC = departSoC
		return e.planner.Solve(&e.problem, &e.plan) == nil
	})
}

// worstOutages finds for each outcome the site whose loss costs most: only a
// site that a plan stops at can cost anything.
func (e *evaluator) worstOutages(confidence float64, a ask, outs []outcome) error {
	var tried []string
	for i := range outs {
		for _, v := range outs[i].visits {
			if id := e.n.sites[v.charger]; outs[i].err == nil && !slices.Contains(tried, id) {
				tried = append(tried, id)
			}
		}
	}
	slices.Sort(tried)
	without := make([]outcome, len(outs))
	for _, id := range tried {
		a.down = mark(e.n, []string{id})
		for i := range without {
			without[i] = outcome{}
		}
		if err := e.solve(confidence, a, without); err != nil {
			return err
		}
		for i := range outs {
			stopsThere := slices.ContainsFunc(outs[i].visits, func(v visit) bool { return e.n.sites[v.charger] == id })
			if outs[i].err == nil && stopsThere {
				e.worse(&outs[i], &without[i], id)
			}
		}
	}
	return nil
}

// worse keeps an outage in a row if none before was as bad.
func (e *evaluator) worse(o, without *outcome, id string) {
	r := &o.row
	if r.WorstEnds != nil && *r.WorstEnds {
		return
	}
	ends := without.err != nil
	if ends {
		r.WorstOutage, r.WorstOutMin, r.WorstEnds = id, nil, e.answers.keep(true)
		return
	}
	costs := (without.timeS - o.timeS) / 60
	if r.WorstOutMin == nil || costs > *r.WorstOutMin {
		r.WorstOutage, r.WorstOutMin, r.WorstEnds = id, e.figures.keep(costs), e.answers.keep(false)
	}
}
