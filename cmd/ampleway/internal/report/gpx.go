package report

import (
	"cmp"
	"encoding/xml"
	"fmt"
	"io"
	"math"
	"slices"
	"strings"
	"time"

	"ampleway/route/question"
	"ampleway/route/trip"
	"ampleway/stations"
)

// The elements of GPX 1.1 that are written, in the order of its schema.
type gpxFile struct {
	XMLName  xml.Name    `xml:"gpx"`
	Space    string      `xml:"xmlns,attr"`
	Version  string      `xml:"version,attr"`
	Creator  string      `xml:"creator,attr"`
	Metadata gpxMetadata `xml:"metadata"`
	Points   []gpxPoint  `xml:"wpt"`
	Routes   []gpxRoute  `xml:"rte"`
	Tracks   []gpxTrack  `xml:"trk"`
}

type gpxMetadata struct {
	Name string `xml:"name"`
	Desc string `xml:"desc,omitempty"`
}

type gpxPoint struct {
	Lat  string `xml:"lat,attr"`
	Lon  string `xml:"lon,attr"`
	Ele  string `xml:"ele,omitempty"`
	Time string `xml:"time,omitempty"`
	Name string `xml:"name,omitempty"`
	Desc string `xml:"desc,omitempty"`
	Type string `xml:"type,omitempty"`
}

type gpxRoute struct {
	Name   string     `xml:"name"`
	Points []gpxPoint `xml:"rtept"`
}

type gpxTrack struct {
	Name   string     `xml:"name"`
	Points []gpxPoint `xml:"trkseg>trkpt"`
}

// GPX writes GPX 1.1: the stops as waypoints, start, stops and destination as
// a route to follow from place to place, and the road as a track.
func GPX(w io.Writer, p *trip.Plan, o Options) error {
	file := newGPX(p.Drive.Corridor.Route.Name, Headline(p, o.Units), trip.Cautions, trip.Credits(p), o)
	file.add(p, "", o)
	return file.write(w)
}

// VisitGPX writes the same for each drive: its stops as waypoints, a route and
// a track.
func VisitGPX(w io.Writer, v *trip.JourneyPlan, o Options) error {
	file := newGPX(journeyName(drivesOf(v)), visitHeadline(v), visitCautions(v), trip.Credits(v.Plans...), o)
	for i, p := range v.Plans {
		file.add(p, fmt.Sprintf("drive %d: ", i+1), o)
	}
	return file.write(w)
}

// sentences joins those that there are.
func sentences(parts ...string) string {
	return strings.Join(slices.DeleteFunc(parts, func(s string) bool { return s == "" }), " ")
}

func newGPX(name, headline string, cautions, credits []string, o Options) *gpxFile {
	return &gpxFile{
		Space: "http://www.topografix.com/GPX/1/1", Version: "1.1", Creator: "ampleway",
		Metadata: gpxMetadata{Name: name, Desc: sentences(headline, o.Note, strings.Join(cautions, " "), strings.Join(credits, " "))},
	}
}

// add adds a drive; lead goes before the names of its stops.
func (f *gpxFile) add(p *trip.Plan, lead string, o Options) {
	r := p.Drive.Corridor.Route
	way, track := gpxRoute{Name: r.Name}, gpxTrack{Name: r.Name}
	way.Points = append(way.Points, gpxEnd(p, p.Legs[0].From, 0, 0))
	for i := range p.Stops {
		point := gpxStop(p, i, o.Units)
		point.Name = lead + point.Name
		f.Points = append(f.Points, point)
		way.Points = append(way.Points, point)
	}
	way.Points = append(way.Points, gpxEnd(p, p.Legs[len(p.Legs)-1].To, p.Drive.Profile.LengthM(), p.TimeS))
	for _, at := range r.All() {
		track.Points = append(track.Points, gpxPoint{Lat: degrees(at.Lat), Lon: degrees(at.Lon), Ele: elevation(at.ElevationM)})
	}
	f.Routes, f.Tracks = append(f.Routes, way), append(f.Tracks, track)
}

func (f *gpxFile) write(w io.Writer) error {
	if _, err := io.WriteString(w, xml.Header); err != nil {
		return err
	}
	e := xml.NewEncoder(w)
	e.Indent("", " ")
	if err := e.Encode(f); err != nil {
		return err
	}
	_, err := io.WriteString(w, "\n")
	return err
}

func gpxStop(p *trip.Plan, i int, u question.Units) gpxPoint {
	s := &p.Stops[i]
	site := s.Charger.Site
	return gpxPoint{
		Lat: degrees(site.Lat), Lon: degrees(site.Lon), Time: gpxTime(p, s.ArriveS),
		Name: fmt.Sprintf("%d %s", i+1, trip.SiteName(site)),
		Desc: sentences(cmp.Or(ifLess(p, i), fmt.Sprintf("Arrive with %s, leave with %s after %s.", ArrivingStop(p, i), LeavingStop(p, i), span(s.DwellS))), p.MealText(i), whoAndWhere(site)),
		Type: "charging stop",
	}
}

// whoAndWhere is who runs a site, where it stands and whom to call, as far as is
// known.
func whoAndWhere(site *stations.Site) string {
	known := slices.DeleteFunc([]string{runBy(site), site.Address}, func(s string) bool { return s == "" })
	if site.Phone != "" {
		known = append(known, "telephone "+site.Phone)
	}
	return strings.Join(known, ", ")
}

func gpxEnd(p *trip.Plan, name string, chainageM, timeS float64) gpxPoint {
	at := p.Drive.Corridor.Route.At(chainageM)
	return gpxPoint{Lat: degrees(at.Lat), Lon: degrees(at.Lon), Ele: elevation(at.ElevationM), Time: gpxTime(p, timeS), Name: name}
}

func gpxTime(p *trip.Plan, timeS float64) string {
	t, ok := p.At(timeS)
	if !ok {
		return ""
	}
	return t.UTC().Round(time.Second).Format(time.RFC3339)
}

func degrees(x float64) string { return number(round(x, 7)) }

func elevation(m float64) string {
	if math.IsNaN(m) {
		return ""
	}
	return number(round(m, 1))
}
