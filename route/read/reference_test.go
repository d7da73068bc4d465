package read_test

import (
	"bytes"
	"encoding/json"
	"math"
	"os/exec"
	"path/filepath"
	"testing"

	"ampleway/route/earth"
	"ampleway/route/input"
	"ampleway/testdata"
)

// geodesicLength sums WGS 84 geodesics over a line with the npm package
// geographiclib-geodesic (Karney, J. Geodesy 87:43, 2013).
const geodesicLength = `
const {Geodesic} = require(process.argv[1]);
const line = JSON.parse(require('fs').readFileSync(0));
let sum = 0;
for (let i = 1; i < line.length; i++)
	sum += Geodesic.WGS84.Inverse(line[i-1][1], line[i-1][0], line[i][1], line[i][0]).s12;
console.log(JSON.stringify(sum));
`

// The two real lines, 326 and 252 km: the length against WGS 84 geodesics,
// and that of plain great circles beside it.
func TestLengthOfRealRoutes(t *testing.T) {
	for _, name := range []string{"virginia-326km.geojson", "rome-naples-252km.geojson"} {
		t.Run(name, func(t *testing.T) {
			path := testdata.OpenData(t, "routes", name)
			r, err := input.Here.Route(path)
			if err != nil {
				t.Fatal(err)
			}
			line, err := json.Marshal(r.Line())
			if err != nil {
				t.Fatal(err)
			}
			cmd := exec.Command(testdata.Tool(t, "node"), "-e", geodesicLength, filepath.Join(testdata.NodeModules(t), "geographiclib-geodesic"))
			cmd.Stdin = bytes.NewReader(line)
			out, err := cmd.Output()
			if err != nil {
				t.Fatal(err)
			}
			var wantM float64
			if err := json.Unmarshal(out, &wantM); err != nil {
				t.Fatal(err)
			}
			greatM := 0.0
			for i := 1; i < r.Len(); i++ {
				a, b := r.Point(i-1), r.Point(i)
				greatM += earth.GreatCircleM(a.Lon, a.Lat, b.Lon, b.Lat)
			}
			corrected, great := math.Abs(r.LengthM()/wantM-1), math.Abs(greatM/wantM-1)
			t.Logf("%.3f m, geodesic %.3f m: off by %.1e; great circles off by %.2f %%", r.LengthM(), wantM, corrected, great*100)
			if corrected > 3e-7 {
				t.Errorf("%.3f m, geodesic %.3f m", r.LengthM(), wantM)
			}
			if great > 0.006 {
				t.Errorf("great circles are off by %.2f %%", great*100)
			}
		})
	}
}
