package trip

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"ampleway/stations"
)

// LeftOut is one reason why stations near a road are not used.
type LeftOut struct {
	Why   stations.Verdict
	Sites int
	Plugs []PlugCount // where no plug fits: those for direct current, the most common first
}

// PlugCount is how common a plug is that does not fit the car.
type PlugCount struct {
	Type  stations.ConnectorType
	Sites int
	Plugs int
}

// Text gives a reason in one line.
func (l *LeftOut) Text() string {
	text := thousands(l.Sites) + ": " + string(l.Why)
	if len(l.Plugs) == 0 {
		return text
	}
	var plugs []string
	for _, p := range l.Plugs {
		plugs = append(plugs, fmt.Sprintf("%s at %s", p.Type.Sanitized(), thousands(p.Sites)))
	}
	return text + " (" + listOf(plugs, mostPlugs) + ")"
}

// mostPlugs is how many kinds of plug a sentence names.
const mostPlugs = 4

// listOf joins the first few of a list and counts the others.
func listOf(parts []string, most int) string {
	if n := len(parts) - most; n > 0 {
		parts = append(slices.Clone(parts[:most]), fmt.Sprintf("and %d more", n))
	}
	return strings.Join(parts, ", ")
}

// thousands writes a count with a comma between thousands.
func thousands(n int) string {
	text := fmt.Sprint(n)
	for i := len(text) - 3; i > 0; i -= 3 {
		text = text[:i] + "," + text[i:]
	}
	return text
}

// leftOut counts the sites between two chainages that the drive does not use,
// by reason, the most common first. A site that is used where the road passes
// it elsewhere is not left out.
func (d *Drive) leftOut(fromM, toM float64) []LeftOut {
	seen := map[*stations.Site]bool{}
	for i := range d.Chargers {
		seen[d.Chargers[i].Site] = true
	}
	reasons := map[stations.Verdict]*LeftOut{}
	for _, r := range d.Refused {
		if seen[r.Site] || r.ChainageM < fromM || r.ChainageM > toM {
			continue
		}
		seen[r.Site] = true
		if reasons[r.Why] == nil {
			reasons[r.Why] = &LeftOut{Why: r.Why}
		}
		reasons[r.Why].add(r.Site, d.Options.Filter)
	}
	var out []LeftOut
	for _, l := range reasons {
		slices.SortFunc(l.Plugs, func(a, b PlugCount) int {
			return cmp.Or(cmp.Compare(b.Sites, a.Sites), cmp.Compare(a.Type, b.Type))
		})
		out = append(out, *l)
	}
	slices.SortFunc(out, func(a, b LeftOut) int { return cmp.Or(cmp.Compare(b.Sites, a.Sites), cmp.Compare(a.Why, b.Why)) })
	return out
}

func (l *LeftOut) add(site *stations.Site, f stations.Filter) {
	l.Sites++
	if l.Why != stations.NoConnector {
		return
	}
	for _, plug := range f.Misfits(site) {
		i := slices.IndexFunc(l.Plugs, func(p PlugCount) bool { return p.Type == plug })
		if i < 0 {
			i, l.Plugs = len(l.Plugs), append(l.Plugs, PlugCount{Type: plug})
		}
		l.Plugs[i].Sites++
		l.Plugs[i].Plugs += site.Plugs(plug)
	}
}

// misfits are the plugs that do not fit, of a list of reasons.
func misfits(reasons []LeftOut) []PlugCount {
	for _, l := range reasons {
		if l.Why == stations.NoConnector {
			return slices.Clone(l.Plugs)
		}
	}
	return nil
}

// sameKind are the inlets that charge with direct current by the same signals
// over different plugs (DIN SPEC 70121, ISO 15118; of SAE J3400 from memory),
// so that one car is sold with one here and another there.
var sameKind = []stations.ConnectorType{stations.CCS1, stations.CCS2, stations.J3400}

// otherInlet reports whether a plug fits another inlet of the same kind than
// the car's.
func (d *Drive) otherInlet(plug stations.ConnectorType) bool {
	return slices.Contains(sameKind, plug) && slices.ContainsFunc(d.Options.Filter.Accepts, func(own stations.ConnectorType) bool {
		return slices.Contains(sameKind, own)
	})
}

// plugText says which plugs are here that another inlet takes, and how names
// that are not known here can be read. It is empty where there are neither.
func plugText(plugs []PlugCount) string {
	var has, add, unknown []string
	for _, p := range plugs {
		if !p.Type.Known() {
			unknown = append(unknown, p.Type.AliasText(p.Plugs))
			continue
		}
		sites := thousands(p.Sites)
		if len(has) == 0 {
			sites += pick(p.Sites == 1, " fast site here", " fast sites here")
		}
		has = append(has, fmt.Sprintf("%s %s %s", sites, pick(p.Sites == 1, "has", "have"), p.Type))
		add = append(add, fmt.Sprintf("add --connector %s only if it is %s", p.Type, p.Type))
	}
	var out []string
	if len(has) > 0 {
		out = append(out, strings.Join(has, ", ")+".", "Look at your inlet: "+strings.Join(add, ", ")+".",
			"Use a fast-charging adapter only if the car's maker allows it.")
	}
	if len(unknown) > 0 {
		out = append(out, "Plug names that are not known here: "+listOf(unknown, mostPlugs)+".")
	}
	return strings.Join(out, " ")
}
