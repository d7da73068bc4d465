package open

import (
	"cmp"
	"regexp"
	"strings"

	"ampleway/stations"
)

// The plugs of the French register, each a column of true or false
// (schema-irve 2.3). "prise_type_autre" names no plug.
var frenchPlugs = []string{"prise_type_combo_ccs", "prise_type_chademo", "prise_type_2", "prise_type_ef"}

// frenchID is the form that the schema asks of identifiers.
var frenchID = regexp.MustCompile(`^FR[A-Z0-9]{4,33}$`)

type frenchColumns struct {
	operator, owner, phone, brand, station, stationLocal, name, place, address, position, point, pointLocal, power, other,
	free, price, access, hours, twoWheels, updated, lon, lat int
	plugs []int
}

func newFrenchColumns(t *table) frenchColumns {
	f := frenchColumns{
		operator: t.at("nom_operateur"), owner: t.at("nom_amenageur"), phone: t.at("telephone_operateur"), brand: t.at("nom_enseigne"),
		station: t.at("id_station_itinerance"), stationLocal: t.at("id_station_local"), name: t.at("nom_station"), place: t.at("implantation_station"),
		address: t.at("adresse_station"), position: t.at("coordonneesXY"), point: t.at("id_pdc_itinerance"), pointLocal: t.at("id_pdc_local"),
		power: t.at("puissance_nominale"), other: t.at("prise_type_autre"), free: t.at("gratuit"), price: t.at("tarification"), access: t.at("condition_acces"),
		hours: t.at("horaires"), twoWheels: t.at("station_deux_roues"), updated: t.at("date_maj"),
		lon: t.at("consolidated_longitude"), lat: t.at("consolidated_latitude"),
	}
	for _, p := range frenchPlugs {
		f.plugs = append(f.plugs, t.at(p))
	}
	return f
}

// readFrench reads the French national static register: one row is one point
// of charge, which is one stall.
func (c *collector) readFrench(t *table) error {
	columns := newFrenchColumns(t)
	sites := newGrouping(c)
	points := map[string]at{}
	return t.each(func(fields []string, where at) error {
		return c.frenchRow(sites, points, &columns, fields, where)
	})
}

func (c *collector) frenchRow(sites *grouping, points map[string]at, f *frenchColumns, fields []string, where at) error {
	get := func(column int) string { return cell(fields, column) }
	if yes, ok := boolean(get(f.twoWheels)); ok && yes {
		c.reject(where, "station_deux_roues", get(f.twoWheels), "a station for cars")
		return nil
	}
	lon, lat, ok := frenchPosition(get(f.position))
	if !ok {
		c.reject(where, "coordonneesXY", get(f.position), "[longitude, latitude]")
		return nil
	}
	point := cmp.Or(get(f.point), get(f.pointLocal))
	if !named(point) {
		point = ""
	} else {
		if first, twice := points[point]; twice {
			c.reject(where, "id_pdc_itinerance", point, "each point of charge once; it stands at "+first.String())
			return nil
		}
		points[strings.Clone(point)] = where
	}
	for _, id := range []int{f.station, f.point} {
		if v := get(id); v != "" && named(v) && !frenchID.MatchString(v) {
			c.suspect(where, map[int]string{f.station: "id_station_itinerance", f.point: "id_pdc_itinerance"}[id], v, "not of the schema's form FR followed by 4 to 33 capitals and digits: kept")
		}
	}
	key := cmp.Or(get(f.station), get(f.stationLocal))
	if !named(key) {
		key = positionID(lon, lat)
	}
	site := stations.Site{
		ID: key, Lon: lon, Lat: lat, Name: get(f.name), Operator: c.word(cmp.Or(get(f.operator), get(f.owner))), Network: c.word(get(f.brand)),
		Address: get(f.address), Phone: get(f.phone), Country: "FR", Hours: c.word(get(f.hours)), Access: frenchAccess(get(f.access), get(f.place)), Zone: "Europe/Paris",
		Price: frenchPrice(get(f.free), get(f.price)), Note: c.word(get(f.price)), Source: "schema-irve", Licence: "Licence Ouverte 2.0",
	}
	if lon < -30 || lon > 20 || lat < 35 {
		site.Zone = "" // overseas
	}
	if v := get(f.updated); v != "" {
		if err := date(&site.Updated, v); err != nil {
			c.suspect(where, "date_maj", v, "not a date: left out")
		}
	}
	s, err := sites.site("", &site, where)
	if err != nil {
		return err
	}
	return sites.stalls(s, stations.Stall{ID: point}, c.frenchStall(f, get, where), 1)
}

func (c *collector) frenchStall(f *frenchColumns, get func(int) string, where at) []stations.Connector {
	var buf [64]byte
	words := buf[:0]
	for _, column := range f.plugs {
		words = append(append(words, get(column)...), ' ')
	}
	words = append(words, get(f.other)...)
	return c.stall(stallText{plugs: string(words), power: get(f.power)}, func() []stations.Connector { return c.frenchPlugsOf(f, get, where) })
}

func (c *collector) frenchPlugsOf(f *frenchColumns, get func(int) string, where at) []stations.Connector {
	var plugs []stations.Connector
	for i, column := range f.plugs {
		yes, ok := boolean(get(column))
		if !ok && get(column) != "" {
			c.suspect(where, frenchPlugs[i], get(column), "neither true nor false: counted as false")
		}
		if yes {
			plugs = append(plugs, c.plug(frenchPlugs[i], 0))
		}
	}
	if yes, _ := boolean(get(f.other)); yes && len(plugs) == 0 {
		c.suspect(where, "prise_type_autre", get(f.other), "another plug, which the register does not name: bay without a plug")
	}
	v := get(f.power)
	kw, ok := powers(v)
	if !ok || len(kw) != 1 || kw[0] <= 0 {
		c.suspect(where, "puissance_nominale", v, "not a power in kW: power unknown")
		return plugs
	}
	return c.powered(plugs, kw[0], where, "puissance_nominale")
}

// boolean reads true and false in the spellings that occur.
func boolean(s string) (value, ok bool) {
	switch strings.ToLower(s) {
	case "true", "1", "vrai", "oui":
		return true, true
	case "false", "0", "faux", "non":
		return false, true
	}
	return false, false
}

func frenchPosition(s string) (lon, lat float64, ok bool) {
	inner, ok1 := strings.CutPrefix(s, "[")
	inner, ok2 := strings.CutSuffix(inner, "]")
	a, b, ok3 := strings.Cut(inner, ",")
	if !ok1 || !ok2 || !ok3 {
		return 0, 0, false
	}
	ok = degrees(&lon, strings.TrimSpace(a), 180) == nil && degrees(&lat, strings.TrimSpace(b), 90) == nil
	return lon, lat, ok
}

// named reports whether an identifier is one: the register writes "Non
// concerné" where there is none.
func named(id string) bool { return id != "" && !strings.HasPrefix(strings.ToLower(id), "non concern") }

func frenchAccess(condition, place string) stations.Access {
	condition, place = strings.ToLower(condition), strings.ToLower(place)
	switch {
	case strings.Contains(condition, "réservé"), strings.Contains(place, "clientèle"):
		return stations.AccessCustomers
	case strings.Contains(condition, "libre"):
		return stations.AccessPublic
	}
	return stations.AccessUnknown
}

func frenchPrice(free, words string) *stations.Price {
	if yes, _ := boolean(free); yes && words == "" {
		return &stations.Price{Currency: "EUR"}
	}
	return priceOf(words, "EUR")
}
