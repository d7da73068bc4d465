package open_test

import (
	"bytes"
	"fmt"
	"os"
	"strings"
	"syscall"
	"testing"
	"time"

	"ampleway/stations/open"
	"ampleway/testdata"
)

// repeated writes a table of about so many MB out of the rows of a real file,
// with identifiers of their own so that no row counts as a repetition.
func repeated(b *testing.B, file string, id int, mb int) []byte {
	text, err := os.ReadFile(file)
	if err != nil {
		b.Fatal(err)
	}
	head, rows, _ := strings.Cut(strings.TrimPrefix(string(text), "\ufeff"), "\n")
	lines := strings.Split(strings.TrimRight(rows, "\n"), "\n")
	var out bytes.Buffer
	fmt.Fprintln(&out, head)
	for n := 0; out.Len() < mb<<20; n++ {
		line := lines[n%len(lines)]
		if id >= 0 && n >= len(lines) {
			line = strings.Replace(line, ",FR", fmt.Sprintf(",FR%d", n/len(lines)), -1)
		}
		fmt.Fprintln(&out, line)
	}
	return out.Bytes()
}

func bench(b *testing.B, data []byte, o open.Options) {
	b.SetBytes(int64(len(data)))
	b.ReportAllocs()
	before := cpu(b)
	for b.Loop() {
		_, report, err := open.Read(bytes.NewReader(data), "bench", o)
		if err != nil {
			b.Fatal(err)
		}
		if report.RejectCount > report.Records/100 {
			b.Fatal(report.Rejected[0])
		}
	}
	b.ReportMetric(float64(len(data))*float64(b.N)/1e6/(cpu(b)-before).Seconds(), "MB/cpu-s")
}

// cpu is the processor time of this process, which says more than the clock
// does on a busy machine.
func cpu(b *testing.B) time.Duration {
	var used syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &used); err != nil {
		b.Fatal(err)
	}
	return time.Duration(used.Utime.Nano() + used.Stime.Nano())
}

func BenchmarkFrench(b *testing.B) {
	bench(b, repeated(b, testdata.OpenData(b, "irve", "problem-rows.csv"), 0, 32), open.Options{})
}

func BenchmarkUS(b *testing.B) {
	bench(b, repeated(b, testdata.OpenData(b, "us-alt-fuel", "sample.csv"), -1, 32), open.Options{})
}

func BenchmarkGerman(b *testing.B) {
	m, err := readMapFile("testdata/maps/german.yaml")
	if err != nil {
		b.Fatal(err)
	}
	bench(b, repeated(b, testdata.OpenData(b, "bnetza", "cologne.csv"), -1, 32), open.Options{Map: m})
}

func ownRows(mb int) []byte {
	var out bytes.Buffer
	fmt.Fprintln(&out, "id,name,operator,lon,lat,connector,power_kw,stalls,hours,access,currency,per_kwh")
	for n := 0; out.Len() < mb<<20; n++ {
		fmt.Fprintf(&out, "s%d,Stop %d at the mill,Tideway Power %d,%.6f,%.6f,CCS2,%d,%d,24/7,public,EUR,0.45\n", n/2, n/2, n%17, -31+float64(n/2%1000)/500, 44+float64(n/2%777)/500, 50*(n%7+1), n%4+1)
	}
	return out.Bytes()
}

func BenchmarkOwnCSV(b *testing.B) { bench(b, ownRows(32), open.Options{}) }

func BenchmarkOwnGeoJSON(b *testing.B) {
	var out bytes.Buffer
	out.WriteString(`{"type":"FeatureCollection","features":[` + "\n")
	for n := 0; out.Len() < 16<<20; n++ {
		if n > 0 {
			out.WriteString(",\n")
		}
		fmt.Fprintf(&out, `{"type":"Feature","id":"s%d","geometry":{"type":"Point","coordinates":[%.6f,%.6f]},"properties":{"name":"Stop %d","operator":"Tideway Power","hours":"24/7","stalls":[{"count":4,"connectors":[{"type":"CCS2","power_kw":150},{"type":"CHAdeMO","power_kw":50}]}]}}`, n, -31+float64(n%1000)/500, 44+float64(n%777)/500, n)
	}
	out.WriteString("]}\n")
	bench(b, out.Bytes(), open.Options{})
}

func BenchmarkOCPI(b *testing.B) {
	text, err := os.ReadFile("testdata/samples/ocpi-page.json")
	if err != nil {
		b.Fatal(err)
	}
	start, end := bytes.Index(text, []byte("  {\"country")), bytes.Index(text, []byte("],\n \"status"))
	var out bytes.Buffer
	out.WriteString("[")
	for n := 0; out.Len() < 16<<20; n++ {
		if n > 0 {
			out.WriteString(",")
		}
		out.Write(text[start:end])
	}
	out.WriteString("]")
	bench(b, out.Bytes(), open.Options{})
}

func BenchmarkPBF(b *testing.B) {
	file := testdata.OpenData(b, "roads", "andorra.osm.pbf")
	data, err := os.ReadFile(file)
	if err != nil {
		b.Fatal(err)
	}
	b.SetBytes(int64(len(data)))
	b.ReportAllocs()
	for b.Loop() {
		if _, report, err := open.Read(bytes.NewReader(data), "bench", open.Options{}); report.Records == 0 {
			b.Fatal(err)
		}
	}
}
