package open

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"ampleway/stations"
)

// lifecycle are the prefixes of keys of things that are not there now.
var lifecycle = []struct {
	prefix string
	status stations.Status
}{
	{"planned", stations.StatusPlanned}, {"proposed", stations.StatusPlanned}, {"construction", stations.StatusPlanned},
	{"disused", stations.StatusClosed}, {"abandoned", stations.StatusClosed}, {"removed", stations.StatusClosed},
	{"demolished", stations.StatusClosed}, {"razed", stations.StatusClosed}, {"was", stations.StatusClosed},
}

// osmStation reports whether tags describe a charging station and with what
// status its key says it is.
func osmStation(tag func(string) string) (stations.Status, bool) {
	if tag("amenity") == "charging_station" {
		return stations.StatusUnknown, true
	}
	for _, l := range lifecycle {
		if tag(l.prefix+":amenity") == "charging_station" || tag("amenity") == l.prefix && tag(l.prefix) == "charging_station" {
			return l.status, true
		}
	}
	return 0, false
}

// osmTags are the tags of one element, ordered by key.
type osmTags []osmTag

type osmTag struct{ key, value string }

func (t osmTags) get(key string) string {
	i, ok := slices.BinarySearchFunc(t, key, func(tag osmTag, key string) int { return strings.Compare(tag.key, key) })
	if !ok {
		return ""
	}
	return strings.TrimSpace(t[i].value)
}

func tagsOf(m map[string]string) osmTags {
	out := make(osmTags, 0, len(m))
	for k, v := range m {
		out = append(out, osmTag{k, v})
	}
	return out.ordered()
}

func (t osmTags) ordered() osmTags {
	slices.SortFunc(t, func(a, b osmTag) int { return strings.Compare(a.key, b.key) })
	return t
}

// addOSM adds a charging station by its tags (OpenStreetMap wiki,
// amenity=charging_station); anything else is ignored.
func (c *collector) addOSM(id string, lon, lat float64, tags osmTags, updated time.Time, where at) error {
	status, ok := osmStation(tags.get)
	if !ok {
		c.report.Ignored++
		return nil
	}
	if tags.get("motorcar") == "no" {
		c.reject(where, "motorcar", "no", "a station for cars")
		return nil
	}
	s := stations.Site{
		ID: id, Lon: lon, Lat: lat, Name: tags.get("name"), Operator: c.word(tags.get("operator")),
		Network: c.word(firstOf(tags, "network", "brand")), Hours: c.word(tags.get("opening_hours")),
		Address: osmAddress(tags), Phone: firstOf(tags, "phone", "contact:phone"), Country: c.word(tags.get("addr:country")), Status: status, Access: c.osmAccess(tags, where),
		Updated: updated, Source: stations.OSM, Licence: "ODbL-1.0", Note: osmNote(tags),
	}
	if s.Status == stations.StatusUnknown {
		s.Status = osmWorking(tags)
	}
	s.Stalls = c.osmStalls(tags, where)
	c.keep(&s)
	return c.add(s, where)
}

func firstOf(tags osmTags, keys ...string) string {
	for _, k := range keys {
		if v := tags.get(k); v != "" {
			return v
		}
	}
	return ""
}

func osmAddress(tags osmTags) string {
	street := joined(" ", tags.get("addr:street"), tags.get("addr:housenumber"))
	return joined(", ", street, joined(" ", tags.get("addr:postcode"), tags.get("addr:city")))
}

// osmNote keeps what has no place of its own.
func osmNote(tags osmTags) string {
	var parts []string
	for _, k := range []string{"fee", "charge", "maxstay", "charging_station:output", "description"} {
		if v := tags.get(k); v != "" {
			parts = append(parts, k+"="+v)
		}
	}
	return strings.Join(parts, "; ")
}

func (c *collector) osmAccess(tags osmTags, where at) stations.Access {
	switch v := tags.get("access"); v {
	case "":
		return stations.AccessUnknown
	case "yes", "public", "permissive", "designated", "official":
		return stations.AccessPublic
	case "customers", "permit", "members":
		return stations.AccessCustomers
	case "private", "no", "residents", "employees", "delivery":
		return stations.AccessPrivate
	default:
		c.suspect(where, "access", v, "not a known value: counted as unknown")
		return stations.AccessUnknown
	}
}

func osmWorking(tags osmTags) stations.Status {
	switch strings.ToLower(firstOf(tags, "operational_status", "status")) {
	case "operational", "open", "working", "ok", "functional":
		return stations.StatusOperating
	case "closed", "broken", "non-operational", "out_of_order", "needs_maintenance", "defect", "no":
		return stations.StatusOutOfOrder
	case "planned", "construction":
		return stations.StatusPlanned
	}
	return stations.StatusUnknown
}

// sockets are the plugs of one socket:<type>.
type sockets struct {
	plugs []stations.Connector // one a socket
	dc    bool
}

// osmStalls makes stalls of the socket tags. The tags count plugs, not cars:
// plugs of direct current of several types are taken to stand on the same
// posts, as they do nearly everywhere, and each AC socket to be a stall of its
// own, unless capacity says that fewer cars fit.
func (c *collector) osmStalls(tags osmTags, where at) []stations.Stall {
	var all []sockets
	total := 0
	for _, tag := range tags {
		name, ok := strings.CutPrefix(tag.key, "socket:")
		if !ok || strings.Contains(name, ":") {
			continue
		}
		n := c.osmCount(tag, where)
		if n == 0 {
			continue
		}
		s := c.osmSockets(name, n, tags, where)
		total += n
		all = append(all, s)
	}
	if total == 0 {
		return nil
	}
	return placed(all, c.osmCapacity(tags, where))
}

func (c *collector) osmCount(tag osmTag, where at) int {
	switch tag.value {
	case "yes":
		return 1
	case "no", "0", "":
		return 0
	}
	n, err := strconv.Atoi(strings.TrimSpace(tag.value))
	if err != nil || n < 0 || n > 500 {
		c.suspect(where, tag.key, tag.value, "not a number of sockets: left out")
		return 0
	}
	return n
}

func (c *collector) osmCapacity(tags osmTags, where at) int {
	v := tags.get("capacity")
	if v == "" {
		return 0
	}
	n, err := strconv.Atoi(v)
	if err != nil || n < 1 || n > maxStalls {
		c.suspect(where, "capacity", v, "not a number of cars: not used")
		return 0
	}
	return n
}

// osmSockets makes the plugs of one socket type with what its sub-tags say.
func (c *collector) osmSockets(name string, n int, tags osmTags, where at) sockets {
	kw := c.osmPowers("socket:"+name+":output", n, tags, where)
	plug := c.plug(name, slices.Max(append([]float64{0}, kw...)))
	if v, ok := figure(tags.get("socket:"+name+":voltage"), "v"); ok && v <= 1500 {
		plug.MaxV = v
	}
	if a, ok := figure(tags.get("socket:"+name+":current"), "a"); ok && a <= 3000 {
		plug.MaxA = a
	}
	if len(kw) == 0 && (plug.MaxA == 0 || plug.MaxV == 0 || plug.RatedKW() > ceilingKW(plug)) {
		plug.MaxA, plug.MaxV = 0, 0
	}
	out := sockets{dc: plug.DC, plugs: make([]stations.Connector, n)}
	for i := range out.plugs {
		out.plugs[i] = plug
		if len(kw) > 0 {
			out.plugs[i].PowerKW = kw[min(i, len(kw)-1)]
		}
	}
	return out
}

// osmPowers reads the power of a socket type: one figure for all, or as many
// as there are sockets; of other lists the lowest counts.
func (c *collector) osmPowers(key string, n int, tags osmTags, where at) []float64 {
	v := tags.get(key)
	if v == "" {
		return nil
	}
	kw, ok := powers(v)
	if !ok {
		c.suspect(where, key, v, "not a power: power unknown")
		return nil
	}
	name := strings.TrimSuffix(strings.TrimPrefix(key, "socket:"), ":output")
	for i := range kw {
		if plug := c.plug(name, kw[i]); kw[i] <= 0 || kw[i] > ceilingKW(plug) {
			c.suspect(where, key, v, "more kW than the plug's standard carries, or none: power unknown")
			return nil
		}
	}
	if len(kw) > 1 && len(kw) != n {
		c.mend(where, key, v, fmt.Sprintf("%d powers for %d sockets: the lowest is used", len(kw), n))
		kw = []float64{slices.Min(kw)}
	}
	return kw
}

// placed puts the plugs on stalls: DC types side by side from the first stall
// on, AC sockets on stalls of their own behind them, going round where the
// capacity ends.
func placed(all []sockets, capacity int) []stations.Stall {
	most, dc, ac := 0, 0, 0
	for _, s := range all {
		most = max(most, len(s.plugs))
		if s.dc {
			dc = max(dc, len(s.plugs))
		} else {
			ac += len(s.plugs)
		}
	}
	n := dc + ac
	if capacity > 0 {
		n = min(n, max(capacity, most))
	}
	stalls := make([]stations.Stall, n)
	next := n - 1
	for _, s := range all {
		for i, plug := range s.plugs {
			at := i
			if !s.dc {
				at = next
				if next--; next < 0 {
					next = n - 1
				}
			}
			stalls[at].Connectors = append(stalls[at].Connectors, plug)
		}
	}
	return stalls
}
