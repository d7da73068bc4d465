package study

import (
	"math/rand/v2"
	"slices"
	"strings"
)

// outages lists the sets of chargers that are out, one a case: none, each
// usable site, and random ones. The draw depends on the seed and the corridor
// alone, so that cars and days on it meet the same outages.
func outages(o *Outages, n *numbers, seed uint64, corridor int, all []string) [][]bool {
	var sets [][]bool
	if o.None {
		sets = append(sets, nil)
	}
	if o.Each {
		for _, id := range usable(n) {
			sets = append(sets, mark(n, []string{id}))
		}
	}
	if r := o.Random; r != nil {
		rng := rand.New(rand.NewPCG(seed, uint64(corridor)))
		for range r.Sets {
			var out []string
			for _, i := range rng.Perm(len(all))[:min(r.Down, len(all))] {
				out = append(out, all[i])
			}
			sets = append(sets, mark(n, out))
		}
	}
	return sets
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

func mark(n *numbers, ids []string) []bool {
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
