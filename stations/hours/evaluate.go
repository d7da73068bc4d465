package hours

import "slices"

// part is a rule that counts on a date, either by the date itself or by the
// part past midnight of the date before.
type part struct {
	rule  int
	shift int // minutes to add to a minute of the date
}

type parts []part

// active holds the parts of most schedules without an allocation.
type active [24]part

// piece is a stretch of a date with one state.
type piece struct {
	from  int // minute of the date
	state State
}

// activeOn lists what counts on a date, in the order in which it is laid over
// one another.
func (s *Schedule) activeOn(d day, list parts) parts {
	before := d.add(-1)
	for i := range s.rules {
		r := &s.rules[i]
		if r.on(d, s.calendar) {
			if s.clears(i) {
				list = list[:0]
			}
			list = append(list, part{rule: i})
		}
		if r.pastMidnight() && r.on(before, s.calendar) {
			list = append(list, part{rule: i, shift: dayMinutes})
		}
	}
	return list
}

// clears reports whether a rule replaces those before it on its dates.
func (s *Schedule) clears(i int) bool {
	r := &s.rules[i]
	if r.join != replaces || r.state == Closed {
		return false
	}
	return r.dated() || i > 0 && r.state == Open && !s.rules[i-1].dated()
}

func (list parts) at(s *Schedule, minute int) State {
	state := Closed
	for _, p := range list {
		r := &s.rules[p.rule]
		if r.join == fallback && state != Closed {
			continue
		}
		if said, ok := r.at(minute + p.shift); ok {
			state = said
		}
	}
	return state
}

// pieces cuts a date where its state changes.
func (s *Schedule) pieces(d day) []piece {
	if len(s.rules) == 0 {
		return []piece{{0, Unknown}}
	}
	var buf active
	list := s.activeOn(d, buf[:0])
	cuts := []int{0}
	for _, p := range list {
		for _, sp := range s.rules[p.rule].spans {
			for _, m := range [2]int{sp.from - p.shift, sp.to - p.shift} {
				if m > 0 && m < dayMinutes {
					cuts = append(cuts, m)
				}
			}
		}
	}
	slices.Sort(cuts)
	var out []piece
	for _, m := range slices.Compact(cuts) {
		state := list.at(s, m)
		if len(out) == 0 || out[len(out)-1].state != state {
			out = append(out, piece{m, state})
		}
	}
	return out
}
