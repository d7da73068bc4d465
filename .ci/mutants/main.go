// Command mutants makes small faults in the code of the packages it is given,
// one at a time, and tells which of them the tests of that package do not
// notice:
//
//	go run ./.ci/mutants -n 100 route/stops energy energy/taper energy/home
//
// The sample is drawn from a seed, so that a run can be repeated. No file of
// the tree is touched: the changed file is laid over it (go test -overlay).
// Solvers that tests run may not start within the limit on memory: a package
// whose tests fail without a mutant is refused, and passes where the npm
// packages of .ci are not installed, because those tests are then skipped.
package main

import (
	"encoding/json"
	"flag"
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"
	"time"
)

// mutant is one fault: the bytes from..to of a file become text.
type mutant struct {
	pkg, file, kind string
	line, from, to  int
	text            string
}

// A fault may make a loop endless; this is what it may then take.
const memoryBytes = 6 << 30

func main() {
	n := flag.Int("n", 100, "mutants to try, spread evenly over the packages")
	seed := flag.Uint64("seed", 1, "seed of the sample")
	timeout := flag.Duration("timeout", 2*time.Minute, "time for the tests of a package")
	only := flag.String("only", "", "try the mutants of one line: FILE:LINE")
	flag.Parse()
	limit := syscall.Rlimit{Cur: memoryBytes, Max: memoryBytes}
	if err := syscall.Setrlimit(syscall.RLIMIT_AS, &limit); err != nil {
		fail(err)
	}
	// A random failure must not be kept and found again under the next mutant.
	if err := os.Setenv("RAPID_NOFAILFILE", "1"); err != nil {
		fail(err)
	}
	count := map[string]int{}
	for i, pkg := range flag.Args() {
		if out, err := test(pkg, *timeout); err != nil {
			fail(fmt.Errorf("%s: its tests fail without a mutant, in %d MB of memory: %w\n%s", pkg, memoryBytes>>20, err, out))
		}
		all, err := mutants(pkg)
		if err != nil {
			fail(err)
		}
		draw := rand.New(rand.NewPCG(*seed, uint64(i)))
		draw.Shuffle(len(all), func(a, b int) { all[a], all[b] = all[b], all[a] })
		want := *n / flag.NArg()
		for _, m := range all {
			if *only != "" && *only != fmt.Sprintf("%s:%d", m.file, m.line) {
				continue
			}
			if want == 0 {
				break
			}
			fate, err := try(m, *timeout)
			if err != nil {
				fail(err)
			}
			if fate == "not Go" {
				continue
			}
			want--
			count[fate]++
			count[pkg+" "+fate]++
			fmt.Printf("%-9s %s:%d: %s\n", fate, m.file, m.line, m.kind)
		}
		fmt.Printf("%s: %d possible faults; of those tried, killed %d, out of time %d, survived %d\n",
			pkg, len(all), count[pkg+" killed"], count[pkg+" timeout"], count[pkg+" SURVIVED"])
	}
	killed := count["killed"] + count["timeout"]
	fmt.Printf("%d of %d killed (%.0f %%)\n", killed, killed+count["SURVIVED"], 100*float64(killed)/float64(killed+count["SURVIVED"]))
}

func fail(err error) {
	fmt.Fprintln(os.Stderr, "mutants:", err)
	os.Exit(1)
}

// mutants lists every fault that can be made in the package at a folder.
func mutants(pkg string) ([]mutant, error) {
	files, err := filepath.Glob(filepath.Join(pkg, "*.go"))
	if err != nil {
		return nil, err
	}
	var all []mutant
	for _, file := range files {
		if strings.HasSuffix(file, "_test.go") {
			continue
		}
		source, err := os.ReadFile(file)
		if err != nil {
			return nil, err
		}
		set := token.NewFileSet()
		tree, err := parser.ParseFile(set, file, source, 0)
		if err != nil {
			return nil, err
		}
		v := &visitor{pkg: pkg, file: file, source: string(source), set: set}
		ast.Inspect(tree, v.visit)
		all = append(all, v.found...)
	}
	return all, nil
}

type visitor struct {
	pkg, file, source string
	set               *token.FileSet
	found             []mutant
}

func (v *visitor) add(from, to token.Pos, text, kind string) {
	at := v.set.Position(from)
	v.found = append(v.found, mutant{v.pkg, v.file, kind, at.Line, at.Offset, v.set.Position(to).Offset, text})
}

func (v *visitor) text(n ast.Node) string {
	return v.source[v.set.Position(n.Pos()).Offset:v.set.Position(n.End()).Offset]
}

// An operator becomes each of these.
var swaps = map[token.Token][]token.Token{
	token.LSS: {token.LEQ, token.GEQ}, token.LEQ: {token.LSS, token.GTR},
	token.GTR: {token.GEQ, token.LEQ}, token.GEQ: {token.GTR, token.LSS},
	token.EQL: {token.NEQ}, token.NEQ: {token.EQL},
	token.ADD: {token.SUB}, token.SUB: {token.ADD}, token.MUL: {token.QUO}, token.QUO: {token.MUL},
	token.LAND: {token.LOR}, token.LOR: {token.LAND},
	token.ADD_ASSIGN: {token.SUB_ASSIGN}, token.SUB_ASSIGN: {token.ADD_ASSIGN},
	token.INC: {token.DEC}, token.DEC: {token.INC},
}

var calls = map[string]string{"Min": "Max", "Max": "Min", "min": "max", "max": "min", "Floor": "Ceil", "Ceil": "Floor"}

func (v *visitor) operator(at token.Pos, op token.Token) {
	for _, other := range swaps[op] {
		v.add(at, at+token.Pos(len(op.String())), other.String(), op.String()+" becomes "+other.String())
	}
}

func (v *visitor) visit(n ast.Node) bool {
	switch n := n.(type) {
	case *ast.ImportSpec:
		return false
	case *ast.BinaryExpr:
		v.operator(n.OpPos, n.Op)
	case *ast.IncDecStmt:
		v.operator(n.TokPos, n.Tok)
		v.add(n.Pos(), n.End(), "", v.text(n)+" is left out")
	case *ast.AssignStmt:
		v.operator(n.TokPos, n.Tok)
		if n.Tok != token.DEFINE {
			v.add(n.Pos(), n.End(), "", v.text(n)+" is left out")
		}
	case *ast.ExprStmt:
		v.add(n.Pos(), n.End(), "", v.text(n)+" is left out")
	case *ast.IfStmt:
		v.add(n.Cond.Pos(), n.Cond.End(), "!("+v.text(n.Cond)+")", "if "+v.text(n.Cond)+" becomes its opposite")
	case *ast.BasicLit:
		v.number(n)
	case *ast.CallExpr:
		name := n.Fun
		if s, ok := name.(*ast.SelectorExpr); ok {
			name = s.Sel
		}
		if id, ok := name.(*ast.Ident); ok && calls[id.Name] != "" {
			v.add(id.Pos(), id.End(), calls[id.Name], id.Name+" becomes "+calls[id.Name])
		}
	}
	return true
}

// number makes a whole number one more and a fraction a twentieth more.
func (v *visitor) number(n *ast.BasicLit) {
	text := ""
	switch n.Kind {
	case token.INT:
		if i, err := strconv.ParseInt(n.Value, 0, 64); err == nil {
			text = strconv.FormatInt(i+1, 10)
		}
	case token.FLOAT:
		if f, err := strconv.ParseFloat(n.Value, 64); err == nil && f != 0 {
			text = strconv.FormatFloat(f*1.05, 'g', -1, 64)
		}
	}
	if text != "" {
		v.add(n.Pos(), n.End(), text, n.Value+" becomes "+text)
	}
}

// try runs the tests of a package over one fault: "killed", "timeout",
// "SURVIVED", or "not Go" where the fault does not compile.
func try(m mutant, timeout time.Duration) (string, error) {
	folder, err := os.MkdirTemp("", "mutant-")
	if err != nil {
		return "", err
	}
	defer os.RemoveAll(folder)
	source, err := os.ReadFile(m.file)
	if err != nil {
		return "", err
	}
	changed := filepath.Join(folder, filepath.Base(m.file))
	if err := os.WriteFile(changed, []byte(string(source[:m.from])+m.text+string(source[m.to:])), 0o644); err != nil {
		return "", err
	}
	path, err := filepath.Abs(m.file)
	if err != nil {
		return "", err
	}
	overlay, err := json.Marshal(map[string]map[string]string{"Replace": {path: changed}})
	if err != nil {
		return "", err
	}
	overlayFile := filepath.Join(folder, "overlay.json")
	if err := os.WriteFile(overlayFile, overlay, 0o644); err != nil {
		return "", err
	}
	out, err := test(m.pkg, timeout, "-overlay", overlayFile)
	switch text := string(out); {
	case err == nil:
		return "SURVIVED", nil
	case strings.Contains(text, "[build failed]") || strings.Contains(text, "[setup failed]"):
		return "not Go", nil
	case strings.Contains(text, "panic: test timed out"):
		return "timeout", nil
	}
	return "killed", nil
}

// test runs the short tests of a package.
func test(pkg string, timeout time.Duration, further ...string) ([]byte, error) {
	args := append([]string{"test", "-vet=off", "-short", "-failfast", "-count=1", "-timeout", timeout.String()}, further...)
	return exec.Command("go", append(args, "./"+pkg)...).CombinedOutput()
}
