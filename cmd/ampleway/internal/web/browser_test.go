package web_test

import (
	"os"
	"os/exec"
	"path/filepath"
	"testing"

	"ampleway/testdata"
)

// TestInABrowser uses the page in Debian's chromium; see .ci/browser/check.mjs
// for what is checked. Pictures and prints are left in .ci/out.
func TestInABrowser(t *testing.T) {
	if testing.Short() || (!testdata.Slow() && os.Getenv("AMPLEWAY_CI") == "") {
		t.Skip("skipped: takes a minute (AMPLEWAY_SLOW=1)")
	}
	testdata.NodeModules(t)
	testdata.Tool(t, "chromium")
	testdata.Tool(t, "pdfinfo")
	out := filepath.Join(testdata.Root(), ".ci", "out")
	must(t, os.MkdirAll(out, 0o755))
	base := listening(t, nil)

	gpx := filepath.Join(t.TempDir(), "drive.gpx")
	must(t, os.WriteFile(gpx, get(t, demo(t, nil), "/journey/gpx").Body.Bytes(), 0o644))
	check := exec.Command("node", filepath.Join(testdata.Root(), ".ci", "browser", "check.mjs"), base+"/", out, gpx)
	text, err := check.CombinedOutput()
	t.Logf("%s", text)
	must(t, err)
}
