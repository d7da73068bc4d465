package study_test

import (
	"context"
	"encoding/csv"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"ampleway/route/study"
	"ampleway/testdata"
)

// hyparquet, a reader of Parquet that shares nothing with the writer, reads
// the rows as CSV has them, column by column.
func TestParquetReadByAnother(t *testing.T) {
	modules := testdata.NodeModules(t)
	folder := t.TempDir()
	text := oneCar + "draws: 50\n"
	if _, err := study.Run(context.Background(), parse(t, text), study.Options{Folder: folder, CSV: true}); err != nil {
		t.Fatal(err)
	}
	script := filepath.Join(folder, "read.mjs")
	body := `
const { asyncBufferFromFile, parquetMetadataAsync, parquetReadObjects } = await import(process.argv[2])
const file = await asyncBufferFromFile(process.argv[3])
const { key_value_metadata } = await parquetMetadataAsync(file)
console.log(key_value_metadata.map(({ key, value }) => key + '=' + value).join(' '))
const rows = await parquetReadObjects({ file })
for (const row of rows) console.log(Object.values(row).map(v => v === null || v === undefined ? '' : String(v)).join('\t'))
`
	if err := os.WriteFile(script, []byte(body), 0o644); err != nil {
		t.Fatal(err)
	}
	out, err := exec.Command("node", script, filepath.Join(modules, "hyparquet", "src", "node.js"), filepath.Join(folder, study.CasesFile)).CombinedOutput()
	if err != nil {
		t.Fatalf("%v: %.2000s", err, out)
	}
	file, err := os.Open(filepath.Join(folder, study.CSVFile))
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	want, err := csv.NewReader(file).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	form, rows, _ := strings.Cut(strings.TrimSuffix(string(out), "\n"), "\n")
	if form != "ampleway=cases 1" {
		t.Errorf("the file says of itself %q", form)
	}
	lines := strings.Split(rows, "\n")
	if len(lines) != len(want)-1 {
		t.Fatalf("%d rows, CSV has %d", len(lines), len(want)-1)
	}
	figures := 0
	for i, line := range lines {
		fields := strings.Split(line, "\t")
		if len(fields) != len(want[0]) {
			t.Fatalf("row %d has %d columns, CSV has %d", i, len(fields), len(want[0]))
		}
		for k, got := range fields {
			a, errA := strconv.ParseFloat(got, 64)
			b, errB := strconv.ParseFloat(want[i+1][k], 64)
			if errA == nil && errB == nil {
				figures++
			}
			if got != want[i+1][k] && !(errA == nil && errB == nil && a == b) {
				t.Fatalf("row %d, %s: %q, CSV has %q", i, want[0][k], got, want[i+1][k])
			}
		}
	}
	t.Logf("%d rows, %d figures", len(lines), figures)
}
