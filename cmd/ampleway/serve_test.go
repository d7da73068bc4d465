package main

import (
	"bufio"
	"bytes"
	"context"
	"io"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"ampleway/data"
)

// serving starts ampleway serve on a free port and returns its address and
// what stops it.
func serving(t *testing.T, args ...string) (base string, stop func() int) {
	t.Helper()
	ctx, cancel := context.WithCancel(context.Background())
	reader, writer := io.Pipe()
	var errOut bytes.Buffer
	code := make(chan int, 1)
	go func() {
		code <- run(ctx, append([]string{"serve", "--addr", "127.0.0.1:0"}, args...), strings.NewReader(""), writer, &errOut)
		writer.Close()
	}()
	line, err := bufio.NewReader(reader).ReadString('\n')
	if err != nil {
		t.Fatalf("no address: %v; %s", err, errOut.String())
	}
	go io.Copy(io.Discard, reader)
	return strings.TrimSpace(line), func() int { cancel(); return <-code }
}

func fetch(t *testing.T, url string) (int, string) {
	t.Helper()
	c := &http.Client{Timeout: 30 * time.Second, Transport: &http.Transport{DisableKeepAlives: true}}
	answer, err := c.Get(url)
	if err != nil {
		t.Fatal(err)
	}
	defer answer.Body.Close()
	text, err := io.ReadAll(answer.Body)
	if err != nil {
		t.Fatal(err)
	}
	return answer.StatusCode, string(text)
}

func TestServeShowsTheDemoAndStops(t *testing.T) {
	base, stop := serving(t)
	if status, page := fetch(t, base); status != http.StatusOK || !strings.Contains(page, "<h1>Arrive with 27 %</h1>") {
		t.Errorf("%d %.300s", status, page)
	}
	if code := stop(); code != exitInterrupted {
		t.Errorf("exit code %d", code)
	}
}

func TestServeTakesFiles(t *testing.T) {
	folder := t.TempDir()
	road, err := data.Corridor("upland")
	if err != nil {
		t.Fatal(err)
	}
	for name, content := range map[string][]byte{"up.geojson": road, "sites.geojson": data.Stations()} {
		if err := os.WriteFile(filepath.Join(folder, name), content, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	base, stop := serving(t, "--route", filepath.Join(folder, "up.geojson"), "--stations", filepath.Join(folder, "sites.geojson"))
	defer stop()
	if status, page := fetch(t, base); status != http.StatusOK || !strings.Contains(page, `<option value="up" selected>Upland Road`) || !strings.Contains(page, "from sites.geojson") {
		t.Errorf("%d %.300s", status, page)
	}
}

func TestServeRefusesWhatMakesNoSense(t *testing.T) {
	for name, args := range map[string][]string{
		"other machines":          {"--addr", "0.0.0.0:8765"},
		"a name":                  {"--addr", "example.org:80"},
		"no port":                 {"--addr", "127.0.0.1"},
		"a route without places":  {"--route", "x.gpx"},
		"pictures without credit": {"--addr", "127.0.0.1:0", "--tiles", "http://127.0.0.1/{z}/{x}/{y}.png"},
		"a missing file":          {"--stations", "absent.csv"},
		"a missing car":           {"--car", "absent.yaml"},
	} {
		var out, errOut bytes.Buffer
		if code := run(context.Background(), append([]string{"serve"}, args...), strings.NewReader(""), &out, &errOut); code != exitUsage {
			t.Errorf("%s: exit code %d, %s", name, code, errOut.String())
		}
	}
}
