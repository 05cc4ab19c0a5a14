package main

import (
	"archive/zip"
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"

	"holdfast"
	"holdfast/desk"
	"holdfast/intake"
	"holdfast/internal/books"
	"holdfast/internal/cli"
	"holdfast/internal/media"
	"holdfast/internal/paper"
	"holdfast/internal/store"
	"holdfast/internal/web/words"
	"holdfast/science/ref"
)

// Import is the subcommand of that name.
type Import struct {
	File string `arg:"" help:"A packing list (XLSX, CSV) or a journal that export wrote (JSON lines)."`
	Data
	Supplier string            `help:"Who sent the boxes; needed for a packing list."`
	Origin   string            `help:"What the seller declared: farmed_indoor, farmed_outdoor, wild or traded."`
	Who      string            `default:"import" help:"Name that stands on the entries."`
	Map      map[string]string `placeholder:"COLUMN=FIELD" help:"What a column of the list means, such as 'Qty=count'; kept for the supplier's next list."`
	DryRun   bool              `help:"Show what would be received and write nothing."`
	JSON     bool              `help:"Print JSON."`
}

// Run receives a packing list, all of it or nothing, or reads a journal.
func (c Import) Run(env *cli.Env) error {
	info, err := os.Stat(c.File)
	if err != nil {
		return ref.Inputf("file", "Name the file to read.", "%v", err)
	}
	if info.Size() > intake.MaxBytes && !strings.HasSuffix(c.File, ".jsonl") {
		return ref.Inputf("file", "Keep only the packing list in the file, without pictures.", "the file has %d bytes, more than the %d MB that are read", info.Size(), intake.MaxBytes>>20)
	}
	f, err := openFolder(env.Context, c.Data.Data, c.Site)
	if err != nil {
		return err
	}
	defer f.store.Close()
	if strings.HasSuffix(c.File, ".jsonl") {
		return c.journal(env, f)
	}
	return c.packing(env, f)
}

func (c Import) journal(env *cli.Env, f *folder) error {
	in, err := os.Open(c.File)
	if err != nil {
		return err
	}
	defer in.Close()
	if err := f.store.Import(env.Context, in); err != nil {
		return err
	}
	n, _, err := f.store.Head(env.Context)
	if err != nil {
		return err
	}
	if c.JSON {
		return env.PrintJSON(map[string]any{"entries": n})
	}
	fmt.Fprintf(env.Out, "Read %s.\n", words.Plural(int(n), "entry", "entries"))
	return nil
}

func (c Import) packing(env *cli.Env, f *folder) error {
	if strings.TrimSpace(c.Supplier) == "" {
		return ref.Inputf("supplier", "Write --supplier 'NAME'.", "a packing list needs the supplier's name")
	}
	data, err := os.ReadFile(c.File)
	if err != nil {
		return err
	}
	p, err := f.desk.ReadPacking(env.Context, c.Supplier, data, intake.Options{}, nil, desk.PackingMend{})
	if err != nil {
		return err
	}
	if len(c.Map) > 0 {
		m, err := c.mapping(p)
		if err != nil {
			return err
		}
		if p, err = f.desk.ReadPacking(env.Context, c.Supplier, data, intake.Options{}, &m, desk.PackingMend{}); err != nil {
			return err
		}
	}
	lines, unknown := desk.PackingLines(p.Result.Lines)
	if len(p.Result.Problems) > 0 || len(unknown) > 0 {
		return c.refuse(env, p, unknown)
	}
	if c.DryRun {
		return c.say(env, p, "", nil)
	}
	id, lots, err := f.desk.Receive(env.Context, desk.Actor{Who: c.Who}, desk.Arrival{Supplier: c.Supplier, Origin: c.Origin, File: filepath.Base(c.File), Note: desk.PackingWords(p.Result.Lines), Lines: lines})
	if err != nil {
		return err
	}
	if err := f.desk.RememberPacking(env.Context, c.Supplier, p.Mapping); err != nil {
		return err
	}
	return c.say(env, p, id, lots)
}

// mapping changes the guessed mapping as --map says; columns are named by
// their heading or their letter.
func (c Import) mapping(p intake.Preview) (intake.Mapping, error) {
	m := p.Mapping
	m.Columns = map[string]intake.Column{}
	for k, v := range p.Mapping.Columns {
		m.Columns[k] = v
	}
	for name, field := range c.Map {
		found := false
		for _, col := range p.Columns {
			if strings.EqualFold(col.Header, name) || strings.EqualFold(col.Letter, name) || strings.EqualFold(col.Key, name) {
				old := m.Columns[col.Key]
				old.Field = intake.Field(field)
				if field == "ignore" {
					old.Field = intake.Ignore
				}
				m.Columns[col.Key], found = old, true
			}
		}
		if !found {
			var have []string
			for _, col := range p.Columns {
				have = append(have, col.Letter+" "+col.Header)
			}
			return m, ref.Inputf("map", "The list has: "+strings.Join(have, ", ")+".", "there is no column %q", name)
		}
	}
	return m, m.Check()
}

// refuse lists every problem with its cell; nothing was written.
func (c Import) refuse(env *cli.Env, p intake.Preview, unknown holdfast.Problems) error {
	for _, q := range p.Result.Problems {
		fmt.Fprintf(env.Err, "%s\n", q)
	}
	for _, q := range unknown {
		fmt.Fprintf(env.Err, "%s: %s\n", q.Message, q.Hint)
	}
	n := len(p.Result.Problems) + len(unknown)
	return ref.Inputf("file", "Mend the list, or say with --map what its columns mean; then import it again. Nothing was written.", "%s in the list", words.Plural(n, "problem", "problems"))
}

func (c Import) say(env *cli.Env, p intake.Preview, id string, lots []string) error {
	if c.JSON {
		return env.PrintJSON(map[string]any{"delivery": id, "lots": lots, "animals": p.Result.Animals, "dead": p.Result.Dead, "lines": p.Result.Lines, "warnings": p.Result.Warnings, "mapping": p.Mapping})
	}
	for _, col := range p.Columns {
		meaning := string(col.Field)
		if meaning == "" {
			meaning = "not used"
		}
		fmt.Fprintf(env.Out, "  %-3s %-24s %s\n", col.Letter, col.Header, meaning)
	}
	for _, w := range p.Result.Warnings {
		fmt.Fprintf(env.Out, "Check: %s\n", w)
	}
	if id == "" {
		fmt.Fprintf(env.Out, "%s, %s, %s dead on arrival. Nothing was written.\n", words.Plural(len(p.Result.Lines), "line", "lines"), words.Plural(p.Result.Animals, "animal", "animals"), words.Int(p.Result.Dead))
		return nil
	}
	fmt.Fprintf(env.Out, "Delivery %s: %s, %s, %s dead on arrival.\n", id, words.Plural(len(lots), "lot", "lots"), words.Plural(p.Result.Animals, "animal", "animals"), words.Int(p.Result.Dead))
	return nil
}

// Export is the subcommand of that name.
type Export struct {
	Data
	Format string `default:"xlsx" enum:"xlsx,csv,jsonl" help:"xlsx: one workbook; csv: a ZIP of one file a table; jsonl: the journal, which import reads back."`
	Out    string `required:"" placeholder:"FILE" help:"File to write; it must not exist yet. - writes to standard output."`
	Buyers bool   `help:"With jsonl: write who stands behind the buyers' pseudonyms instead of the journal."`
}

// Run writes everything out, also while a desk is running.
func (c Export) Run(env *cli.Env) error {
	f, err := readFolder(env.Context, c.Data.Data, c.Site)
	if err != nil {
		return err
	}
	defer f.store.Close()
	if c.Out == "-" {
		return c.write(env.Context, f, env.Out)
	}
	out, err := os.OpenFile(c.Out, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600)
	if errors.Is(err, os.ErrExist) {
		return ref.Inputf("out", "Choose another name; nothing is overwritten.", "%s exists already", c.Out)
	}
	if err != nil {
		return ref.Inputf("out", "Name a file in a folder that exists.", "%v", err)
	}
	err = errors.Join(c.write(env.Context, f, out), out.Sync(), out.Close())
	if err != nil {
		_ = os.Remove(c.Out)
	}
	return err
}

func (c Export) write(ctx context.Context, f *folder, w io.Writer) error {
	switch {
	case c.Format == "jsonl" && c.Buyers:
		return f.store.ExportBuyers(ctx, w)
	case c.Format == "jsonl":
		return f.store.Export(ctx, w)
	}
	sheets, err := books.Shop(ctx, f.desk)
	if err != nil {
		return err
	}
	today, err := f.desk.Today(ctx)
	if err != nil {
		return err
	}
	register, err := books.Register(ctx, f.desk, 0, today)
	if err != nil {
		return err
	}
	sheets = append(sheets, register...)
	if c.Format == "xlsx" {
		return paper.WriteXLSX(w, sheets...)
	}
	z := zip.NewWriter(w)
	names := paper.SheetNames(sheets)
	for i, s := range sheets {
		file, err := z.Create(strings.ToLower(strings.ReplaceAll(names[i], " ", "-")) + ".csv")
		if err != nil {
			return err
		}
		var b bytes.Buffer
		if err := paper.WriteCSV(&b, s); err != nil {
			return err
		}
		if _, err := file.Write(b.Bytes()); err != nil {
			return err
		}
	}
	return z.Close()
}

// Backup is the subcommand of that name.
type Backup struct {
	Data
	To string `required:"" placeholder:"DIR" help:"A folder that does not exist yet. Restoring is serving that folder."`
}

// Run copies the database as it stands to a new folder.
func (c Backup) Run(env *cli.Env) error {
	if _, err := os.Stat(c.To); err == nil {
		return ref.Inputf("to", "Choose another name; nothing is overwritten.", "%s exists already", c.To)
	}
	f, err := readFolder(env.Context, c.Data.Data, c.Site)
	if err != nil {
		return err
	}
	defer f.store.Close()
	if err := os.MkdirAll(c.To, 0o700); err != nil {
		return err
	}
	if err := f.store.Backup(env.Context, filepath.Join(c.To, "holdfast.db")); err != nil {
		return err
	}
	photographs, err := media.Open(c.Data.Data).CopyTo(c.To)
	if err != nil {
		return err
	}
	// The desk may have gone on meanwhile: what is said is what the copy holds.
	copied, err := readFolder(env.Context, c.To, c.Site)
	if err != nil {
		return err
	}
	defer copied.store.Close()
	n, hash, err := copied.store.Head(env.Context)
	if err != nil {
		return err
	}
	fmt.Fprintf(env.Out, "%s and %s are in %s. Chain head: %s\nThe password of the desk is not part of a backup; set it anew in the copy.\n",
		words.Plural(int(n), "entry", "entries"), words.Plural(photographs, "photograph", "photographs"), c.To, hash)
	return nil
}

// Verify is the subcommand of that name.
type Verify struct {
	Data
	JSON bool `help:"Print JSON."`
}

// Run checks everything and prints what is wrong.
func (c Verify) Run(env *cli.Env) error {
	f, err := readFolder(env.Context, c.Data.Data, c.Site)
	if err != nil {
		return err
	}
	defer f.store.Close()
	findings, err := f.store.Verify(env.Context, nil)
	if err != nil {
		return err
	}
	n, hash, err := f.store.Head(env.Context)
	if err != nil {
		return err
	}
	if c.JSON {
		if findings == nil {
			findings = []store.Finding{}
		}
		if err := env.PrintJSON(map[string]any{"entries": n, "head": hash.String(), "findings": findings}); err != nil {
			return err
		}
	} else {
		for _, x := range findings {
			fmt.Fprintln(env.Out, x.Says)
		}
		if len(findings) == 0 {
			fmt.Fprintf(env.Out, "Entries checked: %d. All of them hold, and everything follows from them. Chain head: %s\n", n, hash)
		}
	}
	if len(findings) > 0 {
		return cli.Quiet(cli.StatusFound)
	}
	return nil
}
