package sqlite_test

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"strings"
	"testing"
	"time"

	"holdfast"
	"holdfast/desk"
	"holdfast/internal/store/sqlite"
	"holdfast/internal/store/storetest"
)

// appendEnv names the folder in which this test binary appends for ever instead
// of running tests.
const appendEnv = "HOLDFAST_TEST_APPEND"

func TestMain(m *testing.M) {
	if dir := os.Getenv(appendEnv); dir != "" {
		fmt.Fprintln(os.Stderr, appendForEver(dir))
		os.Exit(1)
	}
	os.Exit(m.Run())
}

// appendForEver appends batches and prints the id of each entry once it is
// acknowledged.
func appendForEver(dir string) error {
	ctx := context.Background()
	s, err := sqlite.Open(ctx, dir, storetest.Summariser{}, sqlite.Options{})
	if err != nil {
		return err
	}
	seq, _, err := s.Head(ctx)
	if err != nil {
		return err
	}
	m := &storetest.Maker{N: uint64(seq)}
	batch := m.Arrival()
	for {
		receipts, err := s.Append(ctx, desk.Batch{Entries: batch})
		if err != nil {
			return err
		}
		for _, r := range receipts {
			fmt.Println(r.Seq, r.ID)
		}
		batch = []holdfast.Entry{m.Entry("A", "T1", &holdfast.Death{Count: 0}), m.Entry("B", "T2", storetest.Look(5, 0)), m.Entry("", "T1", &holdfast.TopUp{Litres: 2})}
	}
}

// TestKilled kills a desk while it records, several times on the same folder.
// What it acknowledged is there, no batch is there by half, and the folder opens
// again at once.
func TestKilled(t *testing.T) {
	dir := t.TempDir()
	rounds := 6
	if testing.Short() {
		rounds = 2
	}
	acknowledged := map[int64]holdfast.ID{}
	for round := range rounds {
		for seq, id := range appendAndKill(t, dir, time.Duration(40+35*round)*time.Millisecond) {
			acknowledged[seq] = id
		}
		s := open(t, dir)
		storetest.Sound(t, s)
		last, _, err := s.Head(t.Context())
		if err != nil {
			t.Fatal(err)
		}
		err = s.Each(t.Context(), 0, func(e holdfast.Entry) error {
			if id, ok := acknowledged[e.Seq]; ok && id != e.ID {
				t.Errorf("no. %d is %s, acknowledged was %s", e.Seq, e.ID, id)
			}
			return nil
		})
		if err != nil {
			t.Fatal(err)
		}
		for seq := range acknowledged {
			if seq > last {
				t.Errorf("no. %d was acknowledged and is gone; the last is no. %d", seq, last)
			}
		}
		if (last-int64(7*(round+1)))%3 != 0 {
			t.Errorf("half a batch is there: the last is no. %d", last)
		}
		if err := s.Close(); err != nil {
			t.Fatal(err)
		}
	}
	if len(acknowledged) < 7*rounds {
		t.Fatalf("only %d entries were acknowledged in %d rounds", len(acknowledged), rounds)
	}
}

// appendAndKill runs a child that appends, kills it some time after its first
// acknowledgement and returns what it acknowledged.
func appendAndKill(t *testing.T, dir string, after time.Duration) map[int64]holdfast.ID {
	t.Helper()
	cmd := exec.CommandContext(t.Context(), os.Args[0])
	cmd.Env = append(os.Environ(), appendEnv+"="+dir)
	var stderr strings.Builder
	cmd.Stderr = &stderr
	out, err := cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	acknowledged := map[int64]holdfast.ID{}
	for lines := bufio.NewScanner(out); lines.Scan(); {
		var seq int64
		var id holdfast.ID
		if _, err := fmt.Sscan(lines.Text(), &seq, &id); err != nil || !id.Valid() {
			break // a line that was being written
		}
		if len(acknowledged) == 0 {
			time.AfterFunc(after, func() { cmd.Process.Kill() })
		}
		acknowledged[seq] = id
	}
	var exit *exec.ExitError
	if err := cmd.Wait(); !errors.As(err, &exit) || exit.Exited() {
		t.Fatalf("the child ended by itself: %v %s", err, stderr.String())
	}
	return acknowledged
}
