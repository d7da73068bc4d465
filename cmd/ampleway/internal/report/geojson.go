package report

import (
	"encoding/json"
	"io"

	"ampleway/route/trip"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/geojson"
)

// GeoJSON writes a FeatureCollection (RFC 7946): the road of each leg as a
// line, each stop as a point, and the start and destination. The line is cut
// where it crosses the antimeridian.
func GeoJSON(w io.Writer, p *trip.Plan, o Options) error {
	d := NewDocument(p, o)
	fc := geojson.NewFeatureCollection()
	fc.ExtraMembers = geojson.Properties{"ampleway": summary(d)}
	fc.Features = planFeatures(p, d)
	return writeGeoJSON(w, fc)
}

// VisitGeoJSON writes the features of GeoJSON for each drive, and each stay as
// a point; "drive" is the number of the drive, of a stay the one that ends
// there.
func VisitGeoJSON(w io.Writer, v *trip.JourneyPlan, o Options) error {
	d := NewVisitDocument(v, o)
	fc := geojson.NewFeatureCollection()
	fc.ExtraMembers = geojson.Properties{"ampleway": visitSummary(d)}
	for i, p := range v.Plans {
		features := planFeatures(p, d.Drives[i])
		if i < len(d.Stays) {
			stay := endFeature(p, "stay", p.Drive.Profile.LengthM())
			for key, value := range properties(d.Stays[i]) {
				stay.Properties[key] = value
			}
			features = append(features, stay)
		}
		for _, f := range features {
			f.Properties["drive"] = i + 1
			fc.Append(f)
		}
	}
	return writeGeoJSON(w, fc)
}

func planFeatures(p *trip.Plan, d *Document) []*geojson.Feature {
	var out []*geojson.Feature
	for i := range p.Legs {
		f := geojson.NewFeature(legGeometry(p, &p.Legs[i]))
		f.Properties = properties(d.Legs[i])
		f.Properties["kind"], f.Properties["leg"] = "leg", i+1
		out = append(out, f)
	}
	out = append(out, endFeature(p, "start", 0))
	for i, s := range d.Stops {
		f := geojson.NewFeature(position(s.Station.Lon, s.Station.Lat))
		f.Properties = stopProperties(s)
		f.Properties["kind"], f.Properties["stop"] = "stop", i+1
		out = append(out, f)
	}
	return append(out, endFeature(p, "destination", p.Drive.Profile.LengthM()))
}

// writeGeoJSON begins with the type: readers such as GDAL tell the form from the
// first bytes of a file.
func writeGeoJSON(w io.Writer, fc *geojson.FeatureCollection) error {
	text, err := json.MarshalIndent(struct {
		Type     string             `json:"type"`
		Features []*geojson.Feature `json:"features"`
		Ampleway any                `json:"ampleway"`
	}{fc.Type, fc.Features, fc.ExtraMembers["ampleway"]}, "", " ")
	if err != nil {
		return err
	}
	_, err = w.Write(append(text, '\n'))
	return err
}

func endFeature(p *trip.Plan, kind string, chainageM float64) *geojson.Feature {
	at := p.Drive.Corridor.Route.At(chainageM)
	f := geojson.NewFeature(position(at.Lon, at.Lat))
	f.Properties = geojson.Properties{"kind": kind, "chainage_km": km(chainageM)}
	return f
}

func legGeometry(p *trip.Plan, l *trip.Leg) orb.Geometry {
	r := p.Drive.Corridor.Route
	if l.ToM > l.FromM {
		if part, ok := r.Part(l.FromM, l.ToM); ok {
			lines := part.Lines()
			for _, line := range lines {
				for i, at := range line {
					line[i] = position(at[0], at[1])
				}
			}
			if len(lines) == 1 {
				return lines[0]
			}
			return lines
		}
	}
	at := r.At(l.FromM)
	return position(at.Lon, at.Lat)
}

// position rounds to seven decimals, as RFC 7946 section 11.2 advises.
func position(lon, lat float64) orb.Point { return orb.Point{round(lon, 7), round(lat, 7)} }

// properties gives a document's fields as GeoJSON properties.
func properties(v any) geojson.Properties {
	text, err := json.Marshal(v)
	if err != nil {
		panic("report: " + err.Error())
	}
	out := geojson.Properties{}
	if err := json.Unmarshal(text, &out); err != nil {
		panic("report: " + err.Error())
	}
	return out
}

func stopProperties(s Stop) geojson.Properties {
	out := properties(s)
	delete(out, "station")
	for key, value := range properties(s.Station) {
		if key != "lon" && key != "lat" {
			out[key] = value
		}
	}
	return out
}

func summary(d *Document) geojson.Properties {
	short := *d
	short.Stops, short.Legs, short.Track = nil, nil, nil
	short.Risk, short.LeaveRules, short.Fallbacks, short.Hardships, short.Choices = nil, nil, nil, nil, nil
	out := properties(short)
	for _, key := range []string{"stops", "legs", "track", "proof"} {
		delete(out, key)
	}
	return out
}

// visitSummary is a visit without what the features say.
func visitSummary(d *VisitDocument) geojson.Properties {
	short := *d
	short.Drives, short.Risk = nil, nil
	out := properties(short)
	var drives []geojson.Properties
	for _, drive := range d.Drives {
		drives = append(drives, summary(drive))
	}
	out["drives"] = drives
	return out
}
