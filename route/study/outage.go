package study

import (
	"cmp"
	"crypto/sha256"
	"encoding/binary"
	"fmt"
	"slices"
	"strings"
)

// outages lists the sets of chargers that are out, one a case: none (nil), each
// site that the car can use on the corridor, and random ones drawn among these.
// Equal sets are one case, so that there are fewer than asked for where few
// sites serve the corridor; where none does, there is the case without an
// outage alone.
func outages(o *Outages, n *numbers, seed uint64, corridor string) [][]bool {
	sites := usable(n)
	var sets [][]bool
	known := map[string]bool{}
	add := func(down []string) {
		down = inOrderOf(sites, down)
		if key := strings.Join(down, ";"); !known[key] {
			known[key] = true
			sets = append(sets, mark(n, down))
		}
	}
	if o.None {
		add(nil)
	}
	if o.Each {
		for _, id := range sites {
			add([]string{id})
		}
	}
	if r := o.Random; r != nil {
		d := newDraw(seed, corridor, sites)
		for set := range r.Sets {
			add(d.set(set, r.Down))
		}
	}
	if len(sets) == 0 {
		add(nil)
	}
	return sets
}

// draw ranks the sites of a corridor anew for each set: those of the lowest
// rank are out. A rank depends on the seed, the corridor's name, the set and
// the site alone, so that all days meet the same outages, and so do all cars
// that can use the same sites; a station more or less changes only the sets
// that it is in.
type draw struct {
	sites []string
	keys  []uint64
	order []int
	ranks []uint64
}

func newDraw(seed uint64, corridor string, sites []string) *draw {
	d := &draw{sites: sites, ranks: make([]uint64, len(sites))}
	for i, id := range sites {
		sum := sha256.Sum256(fmt.Appendf(nil, "%d\x00%s\x00%s", seed, corridor, id))
		d.keys, d.order = append(d.keys, binary.LittleEndian.Uint64(sum[:])), append(d.order, i)
	}
	return d
}

func (d *draw) set(number, down int) []string {
	for i, key := range d.keys {
		d.ranks[i] = mix(key + mix(uint64(number)+1))
	}
	slices.SortFunc(d.order, func(a, b int) int {
		return cmp.Or(cmp.Compare(d.ranks[a], d.ranks[b]), cmp.Compare(d.sites[a], d.sites[b]))
	})
	var out []string
	for _, i := range d.order[:min(down, len(d.order))] {
		out = append(out, d.sites[i])
	}
	return out
}

// mix is the output function of SplitMix64 (Steele, Lea and Flood 2014), the
// constants from memory: every bit of x decides every bit of the result.
func mix(x uint64) uint64 {
	x = (x ^ x>>30) * 0xbf58476d1ce4e5b9
	x = (x ^ x>>27) * 0x94d049bb133111eb
	return x ^ x>>31
}

func inOrderOf(sites, some []string) []string {
	var out []string
	for _, id := range sites {
		if slices.Contains(some, id) {
			out = append(out, id)
		}
	}
	return out
}

// usable lists the sites of a block in order of chainage, each once.
func usable(n *numbers) []string {
	var ids []string
	for _, id := range n.sites {
		if !slices.Contains(ids, id) {
			ids = append(ids, id)
		}
	}
	return ids
}

// mark is the chargers of some sites; nil for none.
func mark(n *numbers, ids []string) []bool {
	if len(ids) == 0 {
		return nil
	}
	down := make([]bool, len(n.sites))
	for i, id := range n.sites {
		down[i] = slices.Contains(ids, id)
	}
	return down
}

// names lists the sites that are out.
func names(n *numbers, down []bool) string {
	var ids []string
	for i, d := range down {
		if d && !slices.Contains(ids, n.sites[i]) {
			ids = append(ids, n.sites[i])
		}
	}
	return strings.Join(ids, ";")
}
