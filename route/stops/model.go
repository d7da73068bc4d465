package stops

import "math"

// span is a Leg in shares of the battery: value is what the drive adds to the
// objective, cap is at most the full battery.
type span struct {
	value, need, cost, cap float64
}

// then is Leg.Then on spans.
func (s span) then(t span) span {
	need, limit := s.cost+t.need, s.cap-t.cost
	if need < s.need {
		need = s.need
	}
	if s.cap < t.need {
		need = math.Inf(1)
	}
	if limit > t.cap {
		limit = t.cap
	}
	return span{s.value + t.value, need, s.cost + t.cost, limit}
}

// arrive is the SoC on arrival.
func (s span) arrive(soc float64) float64 {
	soc -= s.cost
	if soc > s.cap {
		return s.cap
	}
	return soc
}

// node is a place of the problem in shares and values: 0 is the origin,
// 1..n the chargers, n+1 the destination.
type node struct {
	in, out span
	inS     float64 // driving times of the two, s
	outS    float64
	atRoad  float64 // least SoC at the turn-off that reaches the stall with its reserve
	reserve float64
	ceiling float64
	base    float64 // what a stop adds to the objective before any energy flows
	class   int32
	perSoC  float64 // value of the energy that fills the battery
	use     Use
	pause   bool // stopping without charging may help: see the package comment
}

// least is the SoC at the turn-off that reaches the stall with its reserve.
func (d *node) least() float64 {
	if d.in.cap < d.reserve {
		return math.Inf(1)
	}
	return max(d.in.need, d.in.cost+d.reserve)
}

// model is a Problem made ready for the sweep.
type model struct {
	problem *Problem
	weights weights
	n       int
	road    [][]span    // [option][piece]
	roadS   [][]float64 // driving time from the origin to each turn-off, s
	relief  []float64   // Problem.Relief from the origin to each turn-off
	nodes   []node
	must    []int // of each node: the next one that no plan may pass
	limited bool  // in the number of stops
	coupled bool  // by limits that the sweep leaves out
	whole   bool  // no node pauses: some best plan charges at every stop

	classes []class
	classOf map[rate]int32
	leasts  []float64
}

// load fills the model from a valid problem, reusing its memory.
func (m *model) load(p *Problem, w weights) {
	m.problem, m.weights, m.n = p, w, len(p.Chargers)
	m.coupled = p.coupled()
	m.road = resize(m.road, len(p.Road))
	m.roadS = resize(m.roadS, len(p.Road))
	for o, pieces := range p.Road {
		m.road[o] = resize(m.road[o], len(pieces))
		m.roadS[o] = resize(m.roadS[o], len(pieces)+1)
		sum := 0.0
		for i, l := range pieces {
			m.road[o][i] = m.span(l)
			m.roadS[o][i] = sum
			sum += l.TimeS
		}
		m.roadS[o][len(pieces)] = sum
	}
	m.relief = resize(m.relief, m.n+2)
	m.relief[0] = 0
	for i := range m.n + 1 {
		m.relief[i+1] = m.relief[i]
		if len(p.Relief) > 0 {
			m.relief[i+1] += p.Relief[i] / p.CapacityKWh
		}
	}
	m.nodes = resize(m.nodes, m.n+2)
	m.keepClasses()
	free := span{cap: 1}
	m.nodes[0] = node{in: free, out: free, ceiling: p.DepartSoC, class: -1}
	m.nodes[m.n+1] = node{in: free, out: free, atRoad: p.ReserveSoC, reserve: p.ReserveSoC, class: -1, use: MustStop}
	m.whole = true
	for i := range p.Chargers {
		m.loadCharger(i)
	}
	m.relateClasses()
	m.must = resize(m.must, m.n+2)
	must := m.n + 1
	for j := m.n + 1; j >= 0; j-- {
		d := &m.nodes[j]
		m.must[j] = must
		if d.use == MustStop {
			must = j
		}
	}
}

func (m *model) loadCharger(i int) {
	c := &m.problem.Chargers[i]
	d := &m.nodes[i+1]
	*d = node{
		in: m.span(c.In), out: m.span(c.Out), inS: c.In.TimeS, outS: c.Out.TimeS,
		reserve: c.ReserveSoC, ceiling: c.ceiling(), use: c.Use,
	}
	d.atRoad = d.least()
	price := c.cheapest()
	d.base = m.weights.perS*c.OverheadS + m.weights.perMoney*price.PerSession + m.weights.stop(c)
	d.class = m.classFor(rate{c.Power, m.weights.perS + m.weights.perMoney*price.PerMinute/60})
	d.perSoC = m.weights.perMoney * price.PerKWh * m.problem.CapacityKWh
	k := &m.classes[d.class]
	k.least = min(k.least, d.reserve)
	d.pause = len(m.road) > 1 || c.Use == MustStop || c.In.CostKWh+c.Out.CostKWh < 0
	m.whole = m.whole && !d.pause
}

// manyClasses is the number of classes beyond which their relations are not
// tabled, nor kept for the next problem.
const manyClasses = 64

// keepClasses keeps the classes of the problem before, which is often nearly
// the same one.
func (m *model) keepClasses() {
	if len(m.classes) > manyClasses {
		m.classes = m.classes[:0]
		clear(m.classOf)
	}
	m.leasts = m.leasts[:0]
	for i := range m.classes {
		m.leasts = append(m.leasts, m.classes[i].least)
		m.classes[i].least = math.Inf(1)
	}
}

func (m *model) classFor(key rate) int32 {
	for i := range min(len(m.classes), 8) {
		if m.classes[i].rate == key {
			return int32(i)
		}
	}
	if at, ok := m.classOf[key]; ok {
		return at
	}
	if m.classOf == nil {
		m.classOf = make(map[rate]int32)
	}
	at := int32(len(m.classes))
	m.classes = append(m.classes, newClass(key))
	m.classOf[key] = at
	return at
}

// relateClasses forgets the windows that no longer hold. Whether windows are
// used at all depends on this problem's own classes alone, not on what is kept
// from others, so that the same problem gives the same bits.
func (m *model) relateClasses() {
	own := 0
	for i := range m.classes {
		if m.classes[i].least < math.Inf(1) {
			own++
		}
	}
	for i := range m.classes {
		c := &m.classes[i]
		if own > manyClasses {
			c.versus = nil
			continue
		}
		if c.versus == nil {
			c.versus = make([]window, 2*manyClasses)
		}
		if i < len(m.leasts) && m.leasts[i] == c.least {
			continue
		}
		for j := range m.classes {
			if m.classes[j].versus != nil {
				m.classes[j].versus[i] = window{}
			}
		}
	}
}

// window is the window of departures from node j for node k.
func (m *model) window(j, k *node) window {
	c := &m.classes[j.class]
	if c.versus == nil {
		return anywhere
	}
	w := &c.versus[k.class]
	if !w.known {
		*w = windowBetween(c, &m.classes[k.class])
	}
	return w.priced(j.perSoC, k.perSoC)
}

// start and end are those of the node's class with the energy: the value of
// charging there from a to b is end(b) − start(a).
func (m *model) start(j int, a float64) float64 {
	d := &m.nodes[j]
	return m.classes[d.class].start(a) + d.perSoC*a
}

func (m *model) end(j int, b float64) float64 {
	d := &m.nodes[j]
	return m.classes[d.class].end(b) + d.perSoC*b
}

func (m *model) span(l Leg) span {
	e := m.problem.CapacityKWh
	return span{m.weights.perS * l.TimeS, l.NeedKWh / e, l.CostKWh / e, min(l.limit()/e, 1)}
}

// driveS is the driving time between two nodes, s.
func (m *model) driveS(from, to, option int) float64 {
	times := m.roadS[option]
	return m.nodes[from].outS + times[to] - times[from] + m.nodes[to].inS
}

func resize[T any](s []T, n int) []T {
	if cap(s) < n {
		return make([]T, n, n+n/4)
	}
	return s[:n]
}
