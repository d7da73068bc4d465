package stations

import (
	"cmp"
	"math"
	"slices"
	"strings"

	"ampleway/route/earth"
)

// MergeRule says when records of different sources are one site. Two records
// agree when
//
//   - they come from different sources,
//   - they lie within DistanceM of each other,
//   - their operators are the same, letter case and punctuation aside, or one
//     begins with the whole of the other, or one is not known, and
//   - their highest powers differ by a tenth of the larger at most, or one
//     is not known.
//
// Groups grow from the nearest pair on, and only while every two records of a
// group agree: a chain of neighbours is not a site. Records of one source are
// never merged: a source that lists a place twice may mean two rows of stalls.
type MergeRule struct {
	DistanceM float64 // 0 = 100
}

// Merge returns the sites with the records that the rule takes for one site
// made into one. It stands where the first of them stood, says what that one
// says, and takes from the others, in order, what it leaves open; its stalls
// are those of the first record that has any. Parts keeps all the records
// whole, so that Unmerge gives back what there was. Sites that have been
// merged before are taken apart first.
func (r MergeRule) Merge(sites []Site) []Site {
	sites = Unmerge(sites)
	groups := r.groups(sites)
	merged := make([]Site, 0, len(sites))
	for i := range sites {
		group, ok := groups[i]
		switch {
		case !ok:
			merged = append(merged, sites[i])
		case group.members[0] == i:
			merged = append(merged, unite(sites, group.members))
		}
	}
	return merged
}

// Unmerge replaces each merged site with its parts.
func Unmerge(sites []Site) []Site {
	apart := make([]Site, 0, len(sites))
	for _, s := range sites {
		if len(s.Parts) == 0 {
			apart = append(apart, s)
			continue
		}
		apart = append(apart, s.Parts...)
	}
	return apart
}

// cluster is a set of records, lowest number first.
type cluster struct{ members []int }

// groups returns, for each record that shares a site, its cluster.
func (r MergeRule) groups(sites []Site) map[int]*cluster {
	groups := make(map[int]*cluster)
	of := func(i int) *cluster {
		if g, ok := groups[i]; ok {
			return g
		}
		return &cluster{[]int{i}}
	}
	for _, p := range r.nearPairs(sites) {
		a, b := of(p.a), of(p.b)
		if a == b || !r.allAgree(sites, a, b) {
			continue
		}
		all := append(slices.Clone(a.members), b.members...)
		slices.Sort(all)
		joined := &cluster{all}
		for _, i := range all {
			groups[i] = joined
		}
	}
	return groups
}

func (r MergeRule) allAgree(sites []Site, a, b *cluster) bool {
	for _, i := range a.members {
		for _, j := range b.members {
			if !r.Agree(&sites[i], &sites[j]) {
				return false
			}
		}
	}
	return true
}

// Agree reports whether two records can be one site.
func (r MergeRule) Agree(a, b *Site) bool {
	return a.Source != b.Source &&
		earth.DistanceM(a.Lon, a.Lat, b.Lon, b.Lat) <= r.distanceM() &&
		sameOperator(fold(a.Operator), fold(b.Operator)) &&
		samePower(a, b)
}

func (r MergeRule) distanceM() float64 { return cmp.Or(r.DistanceM, 100) }

func sameOperator(a, b string) bool {
	return strings.HasPrefix(a, b) || strings.HasPrefix(b, a)
}

func samePower(a, b *Site) bool {
	powerA, _ := a.MaxPowerKW()
	powerB, _ := b.MaxPowerKW()
	if powerA == 0 || powerB == 0 {
		return true
	}
	return math.Abs(powerA-powerB) <= 0.1*max(powerA, powerB)
}

// nearPair is two records, a < b, and how far they are apart.
type nearPair struct {
	a, b      int
	distanceM float64
}

// nearPairs returns the pairs that agree, nearest first.
func (r MergeRule) nearPairs(sites []Site) []nearPair {
	if !severalSources(sites) {
		return nil
	}
	places := places(sites)
	index := NewIndex(places)
	var pairs []nearPair
	for a := range sites {
		index.around(sites[a].Lon, sites[a].Lat, r.distanceM(), func(b int) {
			if a < b && r.Agree(&sites[a], &sites[b]) {
				pairs = append(pairs, nearPair{a, b, earth.DistanceM(sites[a].Lon, sites[a].Lat, sites[b].Lon, sites[b].Lat)})
			}
		})
	}
	slices.SortFunc(pairs, func(p, q nearPair) int {
		return cmp.Or(cmp.Compare(p.distanceM, q.distanceM), cmp.Compare(p.a, q.a), cmp.Compare(p.b, q.b))
	})
	return pairs
}

func severalSources(sites []Site) bool {
	return slices.ContainsFunc(sites, func(s Site) bool { return s.Source != sites[0].Source })
}

// places is a Set that finds sites where they stand, whatever their Exit.
type places []Site

func (p places) Len() int                          { return len(p) }
func (p places) Position(i int) (lon, lat float64) { return p[i].Lon, p[i].Lat }
func (p places) Site(i int) Site                   { return p[i] }

// unite makes one site of several records, the first of which leads.
func unite(sites []Site, members []int) Site {
	one := sites[members[0]]
	one.Parts = make([]Site, len(members))
	var licences []string
	for n, i := range members {
		one.Parts[n] = sites[i]
		one.fill(&sites[i])
		if l := sites[i].Licence; l != "" && !slices.Contains(licences, l) {
			licences = append(licences, l)
		}
	}
	one.Licence = strings.Join(licences, "; ")
	return one
}

// fill takes from another record what the site leaves open.
func (s *Site) fill(from *Site) {
	for _, text := range []struct{ to, from *string }{
		{&s.Name, &from.Name}, {&s.Operator, &from.Operator}, {&s.Network, &from.Network}, {&s.Address, &from.Address}, {&s.Phone, &from.Phone},
		{&s.Country, &from.Country}, {&s.Hours, &from.Hours}, {&s.Zone, &from.Zone}, {&s.Note, &from.Note},
	} {
		*text.to = cmp.Or(*text.to, *text.from)
	}
	s.Access = cmp.Or(s.Access, from.Access)
	s.Status = cmp.Or(s.Status, from.Status)
	s.Price = cmp.Or(s.Price, from.Price)
	s.Exit = cmp.Or(s.Exit, from.Exit)
	s.DetourM = cmp.Or(s.DetourM, from.DetourM)
	s.DetourS = cmp.Or(s.DetourS, from.DetourS)
	if len(s.Stalls) == 0 {
		s.Stalls, s.SharedKW = from.Stalls, cmp.Or(s.SharedKW, from.SharedKW)
	}
	if len(s.Amenities) == 0 {
		s.Amenities = from.Amenities
	}
	if len(s.Reach) == 0 {
		s.Reach = from.Reach
	}
}
