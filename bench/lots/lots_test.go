package lots

import (
	"context"
	"database/sql"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"testing"
	"time"

	"holdfast"
	"holdfast/desk"
	"holdfast/internal/store"
	"holdfast/internal/store/sqlite"
	"holdfast/internal/store/storetest"
)

const (
	deliveries       = 1000
	lotsOfDelivery   = 20
	entriesOfLot     = 25 // with the delivery's own entry and the tanks' a little more
	tanks            = 2000
	suppliers        = 120
	deliveriesABatch = 10
)

var strains = []string{"Red Fire", "Blue Dream", "Yellow Neon", "Green Jade", "Orange Sakura", "Black Rose", "Snowball", "Crystal Red", "Crystal Black", "Golden Bee", "Amano", "Bamboo", "Blue Bolt", "Taiwan Bee", "Tiger", "Wild Brown"}

// BenchmarkLots compares the page of lots with a bare SELECT that filters, sorts
// and returns the same rows, one after the other in the same run.
func BenchmarkLots(b *testing.B) {
	s, db := shop(b)
	for _, c := range []struct {
		name  string
		q     desk.LotQuery
		where string
		args  []any
	}{
		{"first page by chance", desk.LotQuery{Sort: desk.ByChance}, `1 = 1`, nil},
		{"held", desk.LotQuery{Sort: desk.ByChance, Statuses: []holdfast.Status{holdfast.Held}}, `status IN ('held')`, nil},
		{"held and recalled with text", desk.LotQuery{Sort: desk.ByChance, Statuses: []holdfast.Status{holdfast.Held, holdfast.Recalled}, Text: "blue"}, `status IN ('held', 'recalled') AND search LIKE $1`, []any{"%blue%"}},
		{"two words, rare", desk.LotQuery{Sort: desk.ByChance, Text: "bolt t199"}, `search LIKE $1 AND search LIKE $2`, []any{"%bolt%", "%t199%"}},
		{"last page by chance", desk.LotQuery{Sort: desk.ByChance, Offset: deliveries*lotsOfDelivery - 50}, `1 = 1`, nil},
		{"by strain", desk.LotQuery{Sort: desk.ByStrain, Statuses: []holdfast.Status{holdfast.Held}}, `status IN ('held')`, nil},
	} {
		c.q.Limit = 50
		order := map[desk.LotSort]string{desk.ByChance: `CASE status WHEN 'held' THEN 0 ELSE 1 END, chance_key DESC, id`, desk.ByStrain: `strain_key, id`}[c.q.Sort]
		bare := fmt.Sprintf(`SELECT body FROM lot_row JOIN lot_body USING (id) WHERE %s ORDER BY %s LIMIT 50 OFFSET %d`, c.where, order, c.q.Offset)
		b.Run(c.name, func(b *testing.B) { compare(b, s, db, c.q, bare, c.args) })
	}
}

func compare(b *testing.B, s *store.Store, db *sql.DB, q desk.LotQuery, bare string, args []any) {
	var page, sel time.Duration
	var rows []holdfast.LotRow
	var total, n int
	for b.Loop() {
		t0 := time.Now()
		var err error
		if rows, total, err = s.Lots(b.Context(), q); err != nil {
			b.Fatal(err)
		}
		t1 := time.Now()
		n = selectBare(b, db, bare, args)
		page, sel = page+t1.Sub(t0), sel+time.Since(t1)
	}
	if n != len(rows) || n == 0 {
		b.Fatalf("the page has %d rows and the bare SELECT %d", len(rows), n)
	}
	perOp := func(d time.Duration) float64 { return d.Seconds() * 1000 / float64(b.N) }
	b.ReportMetric(perOp(page), "page-ms")
	b.ReportMetric(perOp(sel), "bare-ms")
	b.ReportMetric(page.Seconds()/sel.Seconds(), "page/bare")
	b.ReportMetric(float64(total), "matches")
}

func selectBare(b *testing.B, db *sql.DB, text string, args []any) int {
	rows, err := db.QueryContext(b.Context(), text, args...)
	if err != nil {
		b.Fatal(err)
	}
	defer rows.Close()
	n := 0
	for rows.Next() {
		var body string
		if err := rows.Scan(&body); err != nil {
			b.Fatal(err)
		}
		n++
	}
	if err := rows.Err(); err != nil {
		b.Fatal(err)
	}
	return n
}

// shop opens the big journal, building it when it is not there.
func shop(b *testing.B) (*store.Store, *sql.DB) {
	dir := os.Getenv("HOLDFAST_BENCH_DATA")
	if dir == "" {
		dir = b.TempDir()
	}
	s, err := sqlite.Open(b.Context(), dir, storetest.Summariser{}, sqlite.Options{})
	if err != nil {
		b.Fatal(err)
	}
	b.Cleanup(func() { s.Close() })
	if seq, _, err := s.Head(b.Context()); err != nil || seq == 0 {
		t0 := time.Now()
		if err := build(b.Context(), s); err != nil {
			b.Fatal(err)
		}
		seq, _, err := s.Head(b.Context())
		if err != nil {
			b.Fatal(err)
		}
		b.Logf("appended %d entries in %.1f s", seq, time.Since(t0).Seconds())
	}
	db, err := sql.Open("sqlite", "file:"+filepath.Join(dir, sqlite.FileName)+"?mode=ro")
	if err != nil {
		b.Fatal(err)
	}
	b.Cleanup(func() { db.Close() })
	return s, db
}

func build(ctx context.Context, s *store.Store) error {
	m := &storetest.Maker{}
	r := rand.New(rand.NewPCG(1, 2))
	var batch []holdfast.Entry
	for d := range deliveries {
		id := fmt.Sprintf("C%04d", d)
		batch = append(batch, m.Entry("", "", &holdfast.ConsignmentReceived{Consignment: id, Supplier: fmt.Sprintf("Farm %c%02d", 'A'+r.IntN(26), r.IntN(suppliers)/26), Boxes: 4}))
		for l := range lotsOfDelivery {
			batch = append(batch, lot(m, r, fmt.Sprintf("L%05d", d*lotsOfDelivery+l), id)...)
		}
		if (d+1)%deliveriesABatch == 0 {
			if _, err := s.Append(ctx, desk.Batch{Entries: batch}); err != nil {
				return err
			}
			batch = batch[:0]
		}
	}
	return nil
}

// lot makes the entries of one lot: a third of the lots have nobody looked at
// them, a third were sold out, some were released and some recalled.
func lot(m *storetest.Maker, r *rand.Rand, id, delivery string) []holdfast.Entry {
	stock := storetest.Stock(delivery, strains[r.IntN(len(strains))])
	tank := fmt.Sprintf("T%d", r.IntN(tanks))
	all := []holdfast.Entry{m.Entry(id, "", &holdfast.LotOpened{Stock: stock, Declared: 200}), m.Entry(id, tank, &holdfast.LotPlaced{})}
	looked := r.IntN(3) > 0
	for len(all) < entriesOfLot-2 {
		switch {
		case looked && len(all)%7 == 0:
			all = append(all, m.Entry(id, "", storetest.Look(10+r.IntN(30), r.IntN(12)/11)))
		case len(all)%5 == 0:
			all = append(all, m.Entry(id, "", &holdfast.MoultPull{}))
		default:
			all = append(all, m.Entry(id, "", &holdfast.Death{Count: r.IntN(8) / 6}))
		}
	}
	if r.IntN(3) == 0 {
		all = append(all, m.Entry(id, "", &holdfast.Release{Line: holdfast.LineClear, LineValue: .95, BagSize: 10, Alive: 150, Model: "test"}))
	}
	switch r.IntN(3) {
	case 0:
		all = append(all, m.Entry(id, "", &holdfast.Counted{Count: 0}))
	case 1:
		all = append(all, m.Entry(id, "", storetest.Look(20, r.IntN(10)/9)))
	}
	for len(all) < entriesOfLot {
		all = append(all, m.Entry(id, "", &holdfast.Note{Text: "all quiet"}))
	}
	return all
}
