package place

import (
	"fmt"
	"math"
	"sort"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"github.com/paulmach/orb"
	"golang.org/x/text/unicode/norm"

	"ampleway/data/fault"
	"ampleway/route/earth"
)

// Place is a position with what a list says of it.
type Place struct {
	Name       string
	Country    string    // ISO 3166 code, or as the list has it; may be empty
	Region     string    // first level of administration; may be empty
	Population int       // 0 where unknown
	At         orb.Point // longitude, latitude
}

// String gives the name as it can be asked for, and the position.
func (p Place) String() string {
	name := p.Name
	for _, more := range []string{p.Region, p.Country} {
		if more != "" {
			name += ", " + more
		}
	}
	return fmt.Sprintf("%s (%s)", name, showPoint(p.At))
}

func showPoint(at orb.Point) string {
	return strconv.FormatFloat(at.Lon(), 'f', -1, 64) + "," + strconv.FormatFloat(at.Lat(), 'f', -1, 64)
}

// List is a set of places to look names up in. The zero value is empty. A
// List may be used from several goroutines once it is made.
type List struct {
	places []Place
	byName map[string][]int32 // folded names, alternate names included
}

// Find returns the place that a text means: "longitude,latitude" in degrees,
// or a name in the list. Errors are *fault.Input with Found the text: no such
// name (with names that begin alike), an ambiguous one (with the places), or a
// position that is not on the earth.
func (l *List) Find(text string) (Place, error) {
	at, isPoint, in := point(text)
	if in != nil {
		return Place{}, in
	}
	if isPoint {
		return Place{Name: showPoint(at), At: at}, nil
	}
	found := l.named(text)
	if len(found) == 0 {
		return Place{}, l.unknown(text)
	}
	sort.SliceStable(found, func(i, k int) bool { return found[i].Population > found[k].Population })
	const byFar = 10
	others := elsewhere(found)
	if len(others) > 0 && found[0].Population <= byFar*others[0].Population {
		return Place{}, &fault.Input{Field: "place", Found: quoted(text), Expected: "one place: it may be " + listed(append(found[:1:1], others...))}
	}
	return found[0], nil
}

// elsewhere returns the places that are not the first one again, as a list
// has a town and its district.
func elsewhere(found []Place) []Place {
	const sameM = 10e3
	var others []Place
	for _, p := range found[1:] {
		if earth.DistanceM(found[0].At.Lon(), found[0].At.Lat(), p.At.Lon(), p.At.Lat()) > sameM {
			others = append(others, p)
		}
	}
	return others
}

// point reads "longitude,latitude". A text of two numbers is always meant so.
func point(text string) (at orb.Point, isPoint bool, in *fault.Input) {
	first, second, comma := strings.Cut(text, ",")
	lon, errLon := strconv.ParseFloat(strings.TrimSpace(first), 64)
	lat, errLat := strconv.ParseFloat(strings.TrimSpace(second), 64)
	if !comma || errLon != nil || errLat != nil {
		return at, false, nil
	}
	if !(math.Abs(lon) <= 180 && math.Abs(lat) <= 90) {
		in = &fault.Input{Field: "place", Found: quoted(text), Expected: "longitude,latitude in degrees within ±180 and ±90"}
		if math.Abs(lon) <= 90 && math.Abs(lat) <= 180 {
			in.Expected += " (they look exchanged)"
		}
		return at, true, in
	}
	return orb.Point{lon, lat}, true, nil
}

// named returns the places of a name, in the order of the list: first those
// of the whole text, else those of the part before the last comma that are in
// the country or region behind it.
func (l *List) named(text string) []Place {
	var found []Place
	for _, i := range l.byName[fold(text)] {
		found = append(found, l.places[i])
	}
	comma := strings.LastIndex(text, ",")
	if len(found) > 0 || comma < 0 {
		return found
	}
	narrow := fold(text[comma+1:])
	for _, p := range l.named(text[:comma]) {
		if fold(p.Country) == narrow || fold(p.Region) == narrow {
			found = append(found, p)
		}
	}
	return found
}

func (l *List) unknown(text string) error {
	in := &fault.Input{Field: "place", Found: quoted(text), Expected: "longitude,latitude or a name in the place list"}
	if len(l.places) == 0 {
		in.Expected = "longitude,latitude (there is no place list to look a name up in)"
		return in
	}
	if alike := l.alike(text); len(alike) > 0 {
		in.Expected += ", such as " + listed(alike)
	}
	return in
}

// alike returns places whose names begin as the text does, by at least half
// of it: first the longest beginnings, then the most people.
func (l *List) alike(text string) []Place {
	folded := fold(text)
	best, common := []Place(nil), (len(folded)+1)/2
	for _, p := range l.places {
		n := commonPrefix(fold(p.Name), folded)
		if n > common {
			best, common = nil, n
		}
		if n == common && n > 0 {
			best = append(best, p)
		}
	}
	sort.SliceStable(best, func(i, k int) bool { return best[i].Population > best[k].Population })
	return best
}

func commonPrefix(a, b string) int {
	n := 0
	for n < len(a) && n < len(b) && a[n] == b[n] {
		n++
	}
	return n
}

func listed(places []Place) string {
	const most = 5
	var names []string
	for i, p := range places {
		if i == most {
			names = append(names, fmt.Sprintf("%d more", len(places)-most))
			break
		}
		names = append(names, p.String())
	}
	return strings.Join(names, "; ")
}

func quoted(s string) string { return `"` + s + `"` }

// fold makes names comparable: no case, no accents, single blanks.
func fold(s string) string {
	if !isASCII(s) {
		s = strings.Map(withoutMark, norm.NFD.String(s))
		s = strings.ReplaceAll(s, "ß", "ss")
	}
	return strings.Join(strings.Fields(strings.ToLower(s)), " ")
}

func withoutMark(r rune) rune {
	if unicode.Is(unicode.Mn, r) {
		return -1
	}
	return r
}

func isASCII(s string) bool {
	for i := range len(s) {
		if s[i] >= utf8.RuneSelf {
			return false
		}
	}
	return true
}

// add puts a place in under its name and other names it has.
func (l *List) add(p Place, others ...string) {
	if l.byName == nil {
		l.byName = map[string][]int32{}
	}
	i := int32(len(l.places))
	l.places = append(l.places, p)
	for _, name := range append(others, p.Name) {
		key := fold(name)
		indices := l.byName[key]
		if key == "" || len(indices) > 0 && indices[len(indices)-1] == i {
			continue
		}
		l.byName[key] = append(indices, i)
	}
}
