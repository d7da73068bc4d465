package answer

import (
	"cmp"
	"encoding/xml"
	"fmt"
	"io"
	"math"
	"slices"
	"strings"
	"time"

	"ampleway/route/trip"
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

// writeGPX writes GPX 1.1: for each drive of each journey the stops as
// waypoints, start, stops and destination as a route to follow from place to
// place, and the road as a track. Where there are several, a stop's name begins
// with the number of the drive, and of the journey where several are compared.
func writeGPX(w io.Writer, a *Answer, journeys []Journey) error {
	file := newGPX(a)
	for _, j := range journeys {
		for i, p := range j.Plans {
			lead := ""
			if len(j.Plans) > 1 {
				lead = fmt.Sprintf("drive %d: ", i+1)
			}
			if j.Case > 0 {
				lead = fmt.Sprintf("case %d: %s", j.Case, lead)
			}
			file.add(p, lead)
		}
	}
	return file.write(w)
}

func newGPX(a *Answer) *gpxFile {
	said := slices.Concat([]string{a.Headline()}, a.About, a.Cautions, a.Credits)
	return &gpxFile{
		Space: "http://www.topografix.com/GPX/1/1", Version: "1.1", Creator: "ampleway",
		Metadata: gpxMetadata{Name: a.Title, Desc: unmarked(strings.Join(said, " "))},
	}
}

// add adds a drive; lead goes before the names of its stops.
func (f *gpxFile) add(p *trip.Plan, lead string) {
	r := p.Drive.Corridor.Route
	way, track := gpxRoute{Name: r.Name}, gpxTrack{Name: r.Name}
	way.Points = append(way.Points, gpxEnd(p, p.Legs[0].From, 0, 0))
	for i := range p.Stops {
		point := gpxStop(p, i)
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

func gpxStop(p *trip.Plan, i int) gpxPoint {
	s := &p.Stops[i]
	site := s.Charger.Site
	return gpxPoint{
		Lat: degrees(site.Lat), Lon: degrees(site.Lon), Time: gpxTime(p, s.ArriveS),
		Name: fmt.Sprintf("%d %s", i+1, trip.SiteName(site)),
		Desc: strings.Join(given(cmp.Or(ifLess(p, i), fmt.Sprintf("Arrive with %s, leave with %s after %s.", ArrivingStop(p, i), LeavingStop(p, i), span(s.DwellS))), p.MealText(i), whoAndWhere(site)), " "),
		Type: "charging stop",
	}
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
