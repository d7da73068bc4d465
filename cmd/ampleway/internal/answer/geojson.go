package answer

import (
	"encoding/json"
	"io"

	"ampleway/route/trip"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/geojson"
)

// writeGeoJSON writes a FeatureCollection (RFC 7946): for each drive of each
// journey the road of each leg as a line, each stop as a point, the start, the
// destination and the stay after it; "drive" is the number of the drive, of a
// stay the one that ends there, and "case" that of the journey, where several
// are compared. A line is cut where it crosses the antimeridian.
func writeGeoJSON(w io.Writer, about any, journeys []Journey) error {
	fc := geojson.NewFeatureCollection()
	for _, j := range journeys {
		for i, p := range j.Plans {
			features := driveFeatures(p, driveDocument(p))
			if i < len(j.Stays) {
				features = append(features, stayFeature(p, stayDocument(&j.Stays[i])))
			}
			for _, f := range features {
				f.Properties["drive"] = i + 1
				if j.Case > 0 {
					f.Properties["case"] = j.Case
				}
				fc.Append(f)
			}
		}
	}
	return write(w, fc, summary(about))
}

func stayFeature(p *trip.Plan, s Stay) *geojson.Feature {
	f := endFeature(p, "stay", p.Drive.Profile.LengthM())
	for key, value := range properties(s) {
		f.Properties[key] = value
	}
	return f
}

func driveFeatures(p *trip.Plan, d *Drive) []*geojson.Feature {
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

// write begins with the type: readers such as GDAL tell the form from the
// first bytes of a file.
func write(w io.Writer, fc *geojson.FeatureCollection, about any) error {
	text, err := json.MarshalIndent(struct {
		Type     string             `json:"type"`
		Features []*geojson.Feature `json:"features"`
		Ampleway any                `json:"ampleway"`
	}{fc.Type, fc.Features, about}, "", " ")
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
		panic("answer: " + err.Error())
	}
	out := geojson.Properties{}
	if err := json.Unmarshal(text, &out); err != nil {
		panic("answer: " + err.Error())
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

// summary is a document without what the features say.
func summary(document any) geojson.Properties {
	out := properties(document)
	delete(out, "risk")
	lists, _ := out["drives"].([]any)
	for _, drive := range lists {
		for _, key := range []string{"stops", "legs", "track", "rules", "fallbacks", "harder_days", "choices", "proof"} {
			delete(drive.(map[string]any), key)
		}
	}
	return out
}
