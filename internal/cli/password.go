package cli

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"os"
	"strings"

	"golang.org/x/term"

	"holdfast/internal/door"
	"holdfast/science/ref"
)

// Password is the subcommand of that name.
type Password struct {
	Data string `required:"" placeholder:"DIR" env:"HOLDFAST_DATA" type:"path" help:"The data folder."`
}

// Run asks for the password of the desk and keeps its hash in the data folder.
// It takes effect when the desk is started next.
func (p Password) Run(env *Env) error {
	if info, err := os.Stat(p.Data); err != nil || !info.IsDir() {
		return ref.Inputf("data", "Name the data folder of your desk, or start the desk once to make it.", "there is no folder %s", p.Data)
	}
	word, err := readSecret(env)
	if err != nil {
		return err
	}
	if err := door.Set(p.Data, word); err != nil {
		return err
	}
	fmt.Fprintln(env.Out, "The password is set. It is asked for from the next start of the desk.")
	return nil
}

// readSecret reads one line, unseen on a terminal.
func readSecret(env *Env) (string, error) {
	if f, ok := env.In.(*os.File); ok && term.IsTerminal(int(f.Fd())) {
		fmt.Fprintf(env.Err, "Password (%d characters at least, it stays unseen): ", door.Shortest)
		b, err := term.ReadPassword(int(f.Fd()))
		fmt.Fprintln(env.Err)
		return string(b), err
	}
	line, err := bufio.NewReader(io.LimitReader(env.In, 4096)).ReadString('\n')
	if err != nil && !errors.Is(err, io.EOF) {
		return "", err
	}
	return strings.TrimRight(line, "\r\n"), nil
}
