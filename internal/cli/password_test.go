package cli_test

import (
	"bytes"
	"path/filepath"
	"strings"
	"testing"

	"holdfast/internal/cli"
	"holdfast/internal/door"
)

func TestPassword(t *testing.T) {
	dir := t.TempDir()
	run := func(typed string, args ...string) (int, string) {
		var out, errs bytes.Buffer
		status := cli.Run(t.Context(), append([]string{"password"}, args...), cli.Streams{In: strings.NewReader(typed), Out: &out, Err: &errs})
		return status, out.String() + errs.String()
	}
	if status, says := run("too short\n", "--data", dir); status != cli.StatusInput || !strings.Contains(says, "15") {
		t.Errorf("status %d, says %q", status, says)
	}
	if status, says := run("five shrimp in a bucket\n", "--data", filepath.Join(dir, "none")); status != cli.StatusInput {
		t.Errorf("status %d, says %q", status, says)
	}
	status, says := run("five shrimp in a bucket\r\n", "--data", dir)
	if status != cli.StatusDone || strings.Contains(says, "bucket") {
		t.Fatalf("status %d, says %q", status, says)
	}
	d, err := door.Open(dir)
	if err != nil {
		t.Fatal(err)
	}
	if ok, err := d.Check("five shrimp in a bucket", ""); !ok || err != nil {
		t.Errorf("the password does not open: %v", err)
	}
}
