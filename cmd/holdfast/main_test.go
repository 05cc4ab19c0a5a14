package main

import (
	"bufio"
	"bytes"
	"encoding/json"
	"io"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"holdfast"
	"holdfast/desk"
)

// mainEnv makes this test binary the program itself.
const mainEnv = "HOLDFAST_TEST_MAIN"

func TestMain(m *testing.M) {
	if os.Getenv(mainEnv) != "" {
		main()
	}
	os.Exit(m.Run())
}

func program(t *testing.T, args ...string) *exec.Cmd {
	t.Helper()
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	c := exec.CommandContext(t.Context(), self, args...)
	c.Env = append(os.Environ(), mainEnv+"=1")
	return c
}

// says runs the program and returns its exit status and what it printed.
func says(t *testing.T, args ...string) (status int, out, err string) {
	t.Helper()
	c := program(t, args...)
	var o, e bytes.Buffer
	c.Stdout, c.Stderr = &o, &e
	_ = c.Run()
	return c.ProcessState.ExitCode(), o.String(), e.String()
}

// good runs the program, which must succeed, and returns what it printed.
func good(t *testing.T, args ...string) string {
	t.Helper()
	status, out, err := says(t, args...)
	if status != 0 {
		t.Fatalf("holdfast %s: status %d\n%s%s", strings.Join(args, " "), status, out, err)
	}
	return out
}

// serving is a server in a process of its own.
type serving struct {
	*exec.Cmd
	url  string
	rest *bufio.Reader
}

// start serves and waits until the address is printed.
func start(t *testing.T, args ...string) *serving {
	t.Helper()
	c := program(t, append(args, "--listen", "127.0.0.1:0", "--quiet")...)
	c.Stderr = os.Stderr
	pipe, err := c.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := c.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = c.Process.Kill(); _ = c.Wait() })
	s := &serving{Cmd: c, rest: bufio.NewReader(pipe)}
	line, err := s.rest.ReadString('\n')
	if err != nil {
		t.Fatal(err)
	}
	_, s.url, _ = strings.Cut(strings.TrimSpace(line), "Holdfast is at ")
	return s
}

func (s *serving) get(t *testing.T, path string) (int, string) {
	t.Helper()
	r, err := http.Get(strings.TrimSuffix(s.url, "/") + path)
	if err != nil {
		t.Fatal(err)
	}
	defer r.Body.Close()
	b, err := io.ReadAll(r.Body)
	if err != nil {
		t.Fatal(err)
	}
	return r.StatusCode, string(b)
}

// stop asks it to end and returns its exit status.
func (s *serving) stop(t *testing.T) int {
	t.Helper()
	if err := s.Process.Signal(syscall.SIGTERM); err != nil {
		t.Fatal(err)
	}
	_, _ = io.Copy(io.Discard, s.rest)
	_ = s.Wait()
	return s.ProcessState.ExitCode()
}

// The list is invented, with the odd headings and the comma of a continental
// spreadsheet, and columns that say nothing.
const oddList = "Pos.;Ware lebend;Stk;\u20ac/St.;Karton;tot;Bem.\n1;Blue velvet;200;0,40;1;3;\n2;Crystal red;60;2,10;1;0;kleine\n"

func write(t *testing.T, name, text string) string {
	t.Helper()
	file := filepath.Join(t.TempDir(), name)
	if err := os.WriteFile(file, []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
	return file
}

// A shop from its first packing list through a running desk, an export, a
// restored journal and a backup, with the commands alone.
func TestAFolderFromImportToRestore(t *testing.T) {
	dir := t.TempDir()
	data, other, copied := filepath.Join(dir, "shop"), filepath.Join(dir, "other"), filepath.Join(dir, "copy")
	list := write(t, "list.csv", oddList)
	if out := good(t, "import", list, "--data", data, "--supplier", "Invented Farm", "--dry-run"); !strings.Contains(out, "2 lines, 260 animals, 3 dead on arrival. Nothing was written.") {
		t.Errorf("a dry run says %q", out)
	}
	if out := good(t, "import", list, "--data", data, "--supplier", "Invented Farm"); !strings.Contains(out, "2 lots, 260 animals, 3 dead on arrival.") {
		t.Errorf("import says %q", out)
	}
	if out := good(t, "import", write(t, "one.csv", "Strain,Count\nBlue velvet,1\n"), "--data", data, "--supplier", "Invented Farm"); !strings.Contains(out, "1 lot, 1 animal, 0 dead on arrival.") {
		t.Errorf("one lot of one animal: %q", out)
	}

	s := start(t, "serve", "--data", data)
	if status, body := s.get(t, "/healthz"); status != http.StatusOK || body != "ok\n" {
		t.Errorf("healthz: %d %q", status, body)
	}
	if status, body := s.get(t, "/no/such/page"); status != http.StatusNotFound || !strings.Contains(body, "<h1") {
		t.Errorf("an unknown address: %d", status)
	}
	if status, body := s.get(t, "/lots"); status != http.StatusOK || !strings.Contains(body, "Crystal red") {
		t.Errorf("lots: %d", status)
	}
	// Beside a running desk: another is refused, everything that reads works.
	if status, _, err := says(t, "serve", "--data", data, "--listen", "127.0.0.1:0"); status != 5 || err == "" {
		t.Errorf("a second server: status %d, %q", status, err)
	}
	if out := good(t, "verify", "--data", data); !strings.Contains(out, "All of them hold") {
		t.Errorf("verify says %q", out)
	}
	journal := filepath.Join(dir, "journal.jsonl")
	good(t, "export", "--data", data, "--format", "jsonl", "--out", journal)
	good(t, "export", "--data", data, "--format", "xlsx", "--out", filepath.Join(dir, "shop.xlsx"))
	good(t, "export", "--data", data, "--format", "csv", "--out", filepath.Join(dir, "shop.zip"))
	if out := good(t, "backup", "--data", data, "--to", copied); !strings.Contains(out, verified(t, copied).Head) {
		t.Errorf("backup does not say how the copy ends: %s", out)
	}
	if status := s.stop(t); status != 0 {
		t.Errorf("asked to stop, the server ends with status %d", status)
	}

	// The journal makes the same state elsewhere.
	good(t, "import", journal, "--data", other)
	for _, folder := range []string{other, copied} {
		if a, b := verified(t, data), verified(t, folder); a != b {
			t.Errorf("%s stands at %+v, the shop at %+v", filepath.Base(folder), b, a)
		}
		again := filepath.Join(dir, filepath.Base(folder)+".jsonl")
		good(t, "export", "--data", folder, "--format", "jsonl", "--out", again)
		if !bytes.Equal(read(t, journal), read(t, again)) {
			t.Errorf("%s exports another journal", filepath.Base(folder))
		}
	}
	if status, _, err := says(t, "import", journal, "--data", other); status == 0 || !strings.Contains(err, "new data folder") {
		t.Errorf("into a folder that holds a journal: status %d, %q", status, err)
	}
	if status, _, _ := says(t, "export", "--data", data, "--out", journal); status != 2 {
		t.Errorf("over a file that exists: status %d", status)
	}
}

type standing struct {
	Entries  int    `json:"entries"`
	Head     string `json:"head"`
	Findings int    `json:"-"`
}

func verified(t *testing.T, dir string) standing {
	t.Helper()
	var v struct {
		standing
		Findings []json.RawMessage `json:"findings"`
	}
	if err := json.Unmarshal([]byte(good(t, "verify", "--data", dir, "--json")), &v); err != nil {
		t.Fatal(err)
	}
	v.standing.Findings = len(v.Findings)
	return v.standing
}

func read(t *testing.T, file string) []byte {
	t.Helper()
	b, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// A list with a bad row writes nothing and names the cell.
func TestImportIsAllOrNothing(t *testing.T) {
	data := filepath.Join(t.TempDir(), "shop")
	list := write(t, "list.csv", "Strain,Count,DOA\nBlue velvet,200,1\nCrystal red,many,0\n")
	status, out, err := says(t, "import", list, "--data", data, "--supplier", "Invented Farm")
	if status != 2 || out != "" || !strings.Contains(err, "B3") || !strings.Contains(err, "1 problem in the list") {
		t.Errorf("status %d, %q, %q", status, out, err)
	}
	if v := verified(t, data); v.Entries != 0 {
		t.Errorf("%d entries were written", v.Entries)
	}
}

// The invented shop answers while it is being made, and stops when asked even
// then. What was made is sound, but it is no shop to show: it is refused, and
// left as it is.
func TestDemoStoppedHalfwayIsRefused(t *testing.T) {
	data := filepath.Join(t.TempDir(), "shop")
	s := start(t, "demo", "--data", data)
	for begun := time.Now(); ; time.Sleep(10 * time.Millisecond) {
		status, body := s.get(t, "/round")
		if status != http.StatusServiceUnavailable {
			t.Fatalf("status %d before the test saw a day being made", status)
		}
		if !strings.Contains(body, "opens by itself") {
			t.Fatalf("while the shop is made: %q", body)
		}
		if strings.Contains(body, ": day ") {
			break
		}
		if time.Since(begun) > time.Minute {
			t.Fatal("no day is made")
		}
	}
	if status := s.stop(t); status != 0 {
		t.Errorf("asked to stop, the demo ends with status %d", status)
	}
	before := verified(t, data)
	if before.Findings != 0 || before.Entries == 0 {
		t.Fatalf("half a shop has %d entries, and verify finds %d faults", before.Entries, before.Findings)
	}
	for _, command := range []string{"demo", "serve"} {
		status, out, err := says(t, command, "--data", data, "--listen", "127.0.0.1:0")
		if status != 2 || out != "" || !strings.Contains(err, "half made") || !strings.Contains(err, "new folder") {
			t.Errorf("%s on half a shop: status %d, %q, %q", command, status, out, err)
		}
	}
	if after := verified(t, data); after != before {
		t.Errorf("refused, the folder went from %+v to %+v", before, after)
	}
}

// A folder is served under the site of its journal, whoever starts it without a
// name; under another name it is refused before anybody types.
func TestAFolderKeepsItsSite(t *testing.T) {
	data := filepath.Join(t.TempDir(), "shop")
	f, err := openFolder(t.Context(), data, "quay")
	if err != nil {
		t.Fatal(err)
	}
	if _, err := f.desk.Visit(t.Context(), desk.Actor{Who: "Jo"}, holdfast.Visit{Visitor: "Dr. Reed", Role: holdfast.VisitVeterinarian, Result: "as expected"}); err != nil {
		t.Fatal(err)
	}
	if err := f.store.Close(); err != nil {
		t.Fatal(err)
	}
	status, out, said := says(t, "serve", "--data", data, "--listen", "127.0.0.1:0", "--site", "shop")
	if status != 2 || out != "" || !strings.Contains(said, `of site "quay"`) {
		t.Errorf("under another site: status %d, %q, %q", status, out, said)
	}
	for range 2 {
		f, err := openFolder(t.Context(), data, "")
		if err != nil {
			t.Fatal(err)
		}
		if f.desk.Site != "quay" {
			t.Errorf("it is served as %q", f.desk.Site)
		}
		if err := f.store.Close(); err != nil {
			t.Fatal(err)
		}
	}
}

func TestProxyThatIsNoAddress(t *testing.T) {
	status, out, err := says(t, "serve", "--data", filepath.Join(t.TempDir(), "shop"), "--listen", "127.0.0.1:0", "--proxy", "my-proxy")
	if status != 2 || out != "" || !strings.Contains(err, "no address and no network") {
		t.Errorf("status %d, %q, %q", status, out, err)
	}
}

// A making that was stopped before the first entry left nothing behind: it
// begins again.
func TestDemoStoppedBeforeItBeganBeginsAgain(t *testing.T) {
	data := filepath.Join(t.TempDir(), "shop")
	if err := os.Mkdir(data, 0o700); err != nil {
		t.Fatal(err)
	}
	if err := markMaking(data); err != nil {
		t.Fatal(err)
	}
	if status := start(t, "demo", "--data", data).stop(t); status != 0 {
		t.Errorf("status %d", status)
	}
}

// A shop made whole opens again.
func TestDemoMadeWholeOpensAgain(t *testing.T) {
	if testing.Short() {
		t.Skip("makes a whole shop")
	}
	data := filepath.Join(t.TempDir(), "shop")
	s := start(t, "demo", "--data", data)
	for {
		line, err := s.rest.ReadString('\n')
		if err != nil {
			t.Fatal(err)
		}
		if strings.Contains(line, "The shop is ready") {
			break
		}
	}
	if status := s.stop(t); status != 0 {
		t.Errorf("asked to stop, the demo ends with status %d", status)
	}
	again := start(t, "demo", "--data", data)
	if status, _ := again.get(t, "/round"); status != http.StatusOK {
		t.Errorf("opened again: status %d", status)
	}
	if status := again.stop(t); status != 0 {
		t.Errorf("status %d", status)
	}
}
