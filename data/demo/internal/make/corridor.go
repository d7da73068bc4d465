package main

import (
	"fmt"
	"strconv"
	"strings"
)

const invented = "Invented: Orrelund, its towns, roads, operators, stations, prices and weather do not exist; the coordinates are open water in the North Pacific."

// corridorFile writes a road as one GeoJSON feature (RFC 7946): positions with
// elevation in metres, and speed_kmh, the travel speed of each piece between
// two positions.
func corridorFile(r *road) []byte {
	picked := r.vertices()
	var b strings.Builder
	names := r.plan.placeNames()
	fmt.Fprintf(&b, "{\n\"type\": \"Feature\",\n\"properties\": {\n\"name\": %q,\n\"road\": %q,\n\"note\": %q,\n\"speed_kmh\": [",
		r.plan.name+", "+names[0]+" to "+names[len(names)-1], "Road "+r.plan.ref, invented)
	for k := 1; k < len(picked); k++ {
		separate(&b, k-1, 30)
		b.WriteString(strconv.Itoa(r.pieceKmh(picked[k-1], picked[k])))
	}
	b.WriteString("]\n},\n\"geometry\": {\n\"type\": \"LineString\",\n\"coordinates\": [\n")
	for k, i := range picked {
		separate(&b, k, 5)
		v := r.vertexAt(i)
		fmt.Fprintf(&b, "[%s,%s,%s]", number(v.lon), number(v.lat), number(v.elevationM))
	}
	b.WriteString("\n]\n}\n}\n")
	return []byte(b.String())
}

// separate writes what stands before item k of a list, so many items a line.
func separate(b *strings.Builder, k, perLine int) {
	switch {
	case k == 0:
	case k%perLine == 0:
		b.WriteString(",\n")
	default:
		b.WriteString(",")
	}
}

func number(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }
