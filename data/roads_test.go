package data_test

import (
	"context"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"ampleway/testdata"

	"github.com/paulmach/osm"
	"github.com/paulmach/osm/osmxml"
)

const roadFile = "demo/roads.osm"

func readRoads(t *testing.T) (nodes map[osm.NodeID]*osm.Node, ways []*osm.Way) {
	t.Helper()
	file, err := os.Open(roadFile)
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	nodes = make(map[osm.NodeID]*osm.Node)
	scanner := osmxml.New(context.Background(), file)
	defer scanner.Close()
	for scanner.Scan() {
		switch o := scanner.Object().(type) {
		case *osm.Node:
			nodes[o.ID] = o
		case *osm.Way:
			ways = append(ways, o)
		}
	}
	if err := scanner.Err(); err != nil {
		t.Fatal(err)
	}
	return nodes, ways
}

func TestRoadsAreOneNetwork(t *testing.T) {
	nodes, ways := readRoads(t)
	parent := make(map[osm.NodeID]osm.NodeID)
	var root func(n osm.NodeID) osm.NodeID
	root = func(n osm.NodeID) osm.NodeID {
		if p, ok := parent[n]; ok && p != n {
			parent[n] = root(p)
			return parent[n]
		}
		parent[n] = n
		return n
	}
	for _, w := range ways {
		if w.Tags.Find("highway") == "" || w.Tags.Find("maxspeed") == "" || len(w.Nodes) < 2 {
			t.Errorf("way %d: %v, %d nodes", w.ID, w.Tags, len(w.Nodes))
		}
		for i, n := range w.Nodes {
			if nodes[n.ID] == nil {
				t.Fatalf("way %d names node %d, which is not there", w.ID, n.ID)
			}
			parent[root(n.ID)] = root(w.Nodes[max(i-1, 0)].ID)
		}
	}
	if len(nodes) != len(parent) {
		t.Errorf("%d nodes, %d of them on ways", len(nodes), len(parent))
	}
	first := root(1)
	for n := range parent {
		if root(n) != first {
			t.Fatalf("node %d cannot be reached from node 1", n)
		}
	}
}

// TestARouterDrivesTheCorridors has Routino (Debian's routino) find the
// quickest way between the ends of two roads: it is the corridor, as long as
// its vertices make it. Routino measures on a sphere.
func TestARouterDrivesTheCorridors(t *testing.T) {
	folder := t.TempDir()
	split := exec.Command(testdata.Tool(t, "planetsplitter"), "--dir="+folder, "--tagging=/usr/share/routino/tagging.xml", roadFile)
	if out, err := split.CombinedOutput(); err != nil {
		t.Fatalf("planetsplitter: %v\n%s", err, out)
	}
	for _, c := range []struct{ corridor, from, to string }{
		{"pass", "Velmouth", "Corrowen"}, {"north", "Cape Weir", "Hasp Point"}, {"upland", "Hollin Gate", "Skarrow"},
	} {
		line, alongM := readCorridor(t, c.corridor)
		a, b := placeNamed(t, c.from), placeNamed(t, c.to)
		wantKm := (alongM[nearestVertex(t, line, b)] - alongM[nearestVertex(t, line, a)]) / 1000
		gotKm := routinoKm(t, folder, a.Geometry.Coordinates, b.Geometry.Coordinates)
		if math.Abs(gotKm-wantKm) > 0.006*wantKm {
			t.Errorf("%s to %s: the router drives %.1f km, the corridor has %.1f km", c.from, c.to, gotKm, wantKm)
		}
	}
}

func routinoKm(t *testing.T, folder string, from, to [2]float64) float64 {
	t.Helper()
	const share = "/usr/share/routino/"
	cmd := exec.Command(testdata.Tool(t, "routino-router"), "--dir="+folder, "--profiles="+share+"profiles.xml",
		"--translations="+share+"translations.xml", "--transport=motorcar", "--quickest", "--quiet", "--output-text",
		fmt.Sprintf("--lon1=%g", from[0]), fmt.Sprintf("--lat1=%g", from[1]), fmt.Sprintf("--lon2=%g", to[0]), fmt.Sprintf("--lat2=%g", to[1]))
	cmd.Dir = folder
	if out, err := cmd.CombinedOutput(); err != nil {
		t.Fatalf("routino-router: %v\n%s", err, out)
	}
	text, err := os.ReadFile(filepath.Join(folder, "quickest.txt"))
	if err != nil {
		t.Fatal(err)
	}
	lines := strings.Split(strings.TrimSpace(string(text)), "\n")
	columns := strings.Split(lines[len(lines)-1], "\t")
	if len(columns) < 5 {
		t.Fatalf("the last line of quickest.txt is %q", lines[len(lines)-1])
	}
	km, err := strconv.ParseFloat(strings.Fields(columns[4])[0], 64)
	if err != nil {
		t.Fatal(err)
	}
	return km
}
