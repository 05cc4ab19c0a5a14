package desk

import (
	"context"
	"encoding/json"

	"holdfast"
)

// Store keeps the journal and the rows that follow from it. Its conformance
// suite is internal/store/storetest: every implementation passes it.
type Store interface {
	Journal
	Lists
	Memory
	People
	Benches
	Figures
}

// Journal is the append-only record.
type Journal interface {
	// Append accepts the batch in one transaction: every entry is checked,
	// numbered and chained, and the rows of all subjects it bears on are
	// written. Either all of it is kept or nothing.
	//
	// An entry whose id is known already with the same bytes is reported as
	// Already; with other bytes the batch is refused as a conflict.
	Append(ctx context.Context, b Batch) ([]Receipt, error)
	// Entry returns one entry, or a NotFound error.
	Entry(ctx context.Context, id holdfast.ID) (holdfast.Event, error)
	// Events returns the events that bear on a subject, in order of
	// acceptance. An unknown subject has none.
	Events(ctx context.Context, s holdfast.Subject) ([]holdfast.Event, error)
	// Lot returns the fold of the events that bear on a lot; of an unknown lot it
	// has none. It is shared between callers and must not be changed.
	Lot(ctx context.Context, id string) (*holdfast.Lot, error)
	// Each calls f for every entry after seq in order of acceptance, inside one
	// read transaction, until f returns an error.
	Each(ctx context.Context, after int64, f func(holdfast.Entry) error) error
	// Head returns the number and hash of the last accepted entry.
	Head(ctx context.Context) (int64, holdfast.Hash, error)
}

// Batch is what is appended together.
type Batch struct {
	Entries []holdfast.Entry
	// Unchanged lists subjects that must still stand where the caller read
	// them; if one has moved on, the batch is refused as a conflict. Seq 0 says
	// that nothing of that name may exist.
	Unchanged []Standing
	// Buyer, if there is one, is kept with the entries or not at all.
	Buyer *Buyer
}

// Standing is a subject with the number of its last entry.
type Standing struct {
	Subject holdfast.Subject
	Seq     int64
}

// Receipt says what became of one entry of a batch.
type Receipt struct {
	ID      holdfast.ID
	Seq     int64
	Already bool
}

// Lists are the rows kept for lists.
type Lists interface {
	// Lots returns one page of lots and how many match in all.
	Lots(ctx context.Context, q LotQuery) ([]holdfast.LotRow, int, error)
	// LotRow returns the row of one lot, or a NotFound error.
	LotRow(ctx context.Context, id string) (holdfast.LotRow, error)
	// LotCounts returns how many lots stand in each state.
	LotCounts(ctx context.Context) (map[holdfast.Status]int, error)
	// Tanks returns every tank that is in use, in walking order (place, id).
	Tanks(ctx context.Context) ([]holdfast.TankRow, error)
	// Consignments returns deliveries, newest first.
	Consignments(ctx context.Context, offset, limit int) ([]holdfast.ConsignmentRow, int, error)
	// Consignment returns the row of one delivery, or a NotFound error.
	Consignment(ctx context.Context, id string) (holdfast.ConsignmentRow, error)
	// Suppliers returns the suppliers' names, in alphabetical order.
	Suppliers(ctx context.Context) ([]string, error)
}

// LotQuery asks for a page of lots.
type LotQuery struct {
	// Text matches id, strain, supplier or tank, without regard to case.
	Text string
	// Statuses limits the states; empty means every state.
	Statuses []holdfast.Status
	// Supplier limits to one supplier; empty means all.
	Supplier string
	// Species limits to one species group; empty means all.
	Species string
	Sort    LotSort
	Offset  int
	// Limit is the size of a page; 0 means no limit.
	Limit int
}

// LotSort is an order of lots; ties are broken by id.
type LotSort string

// Orders of lots.
const (
	ByChance     LotSort = "chance"     // held before all others; highest chance first, not looked last
	ByChanceLow  LotSort = "chance_low" // lowest chance first, not looked first
	ByNewest     LotSort = "newest"     // newest first
	ByOldest     LotSort = "oldest"     // oldest first
	ByAlive      LotSort = "alive"      // most animals first
	ByStrain     LotSort = "strain"     // alphabetical
	BySupplier   LotSort = "supplier"   // alphabetical
	ByStatusSort LotSort = "status"     // alphabetical by state
)

// Memory is what the desk remembers for convenience; losing it loses no fact.
type Memory interface {
	// Remember keeps a JSON value under a topic and key, replacing any before.
	Remember(ctx context.Context, topic, key string, value json.RawMessage) error
	// Recall returns the value, or nil when there is none.
	Recall(ctx context.Context, topic, key string) (json.RawMessage, error)
}

// People keeps who stands behind a pseudonym in the journal. Erasing a person
// breaks no hash.
type People interface {
	// SaveBuyer adds or replaces a buyer.
	SaveBuyer(ctx context.Context, b Buyer) error
	// Buyer returns a buyer, or a NotFound error when unknown or erased.
	Buyer(ctx context.Context, pseudonym string) (Buyer, error)
	// Buyers returns all buyers by name.
	Buyers(ctx context.Context) ([]Buyer, error)
	// EraseBuyer forgets a buyer for good.
	EraseBuyer(ctx context.Context, pseudonym string) error
}

// Buyer is a person or shop that bought animals.
type Buyer struct {
	Pseudonym string `json:"pseudonym"`
	Name      string `json:"name"`
	Contact   string `json:"contact"`
}

// Benches keep what stands on the bench: readings of photographs, which are
// derived and can be computed again, and what people are in the middle of.
// Neither is part of the journal, and verify looks at neither.
type Benches interface {
	// WantReadings asks that photographs be read in a way. One that has been
	// read so already, or is waiting to be, stays as it is.
	WantReadings(ctx context.Context, lot, way string, shas []string) error
	// OpenReadings returns photographs that wait to be read: those of the lot that
	// was asked for last before others, because somebody looks on, and the longest
	// waiting first. One that was tried [ReadingTries] times waits no more.
	OpenReadings(ctx context.Context, limit int) ([]Want, error)
	// TryReading counts a try before it is made, so that a photograph that
	// brings the program down is not tried for ever.
	TryReading(ctx context.Context, sha string) error
	// KeepReading keeps what a photograph was read as, a JSON value, and the way
	// it was read in.
	KeepReading(ctx context.Context, sha, way string, body json.RawMessage) error
	// Readings returns what is known of photographs; one that nobody asked for
	// is absent.
	Readings(ctx context.Context, shas []string) (map[string]ReadingRow, error)
	// KeepNote keeps a JSON value under a name on the bench of a lot, replacing
	// any before; a nil value takes it away.
	KeepNote(ctx context.Context, lot, name string, value json.RawMessage) error
	// Notes returns everything kept on the bench of a lot.
	Notes(ctx context.Context, lot string) (map[string]json.RawMessage, error)
}

// ReadingTries is how often a photograph is tried before it is given up.
const ReadingTries = 3

// Want is a photograph that waits to be read.
type Want struct{ SHA256, Lot, Way string }

// ReadingRow is what is known of a photograph.
type ReadingRow struct {
	// Wanted is the way in which it should be read, Have the way in which Body
	// was, empty before the first time.
	Wanted, Have string
	Tries        int
	Body         json.RawMessage
}

// Waiting reports whether it is still to be read as wanted.
func (r ReadingRow) Waiting() bool { return r.Wanted != r.Have && r.Tries < ReadingTries }

// GivenUp reports whether it was tried too often.
func (r ReadingRow) GivenUp() bool { return r.Wanted != r.Have && r.Tries >= ReadingTries }

// Figures keep what the life-cycle model says of lots. They are derived, no
// part of the journal, and verify does not look at them: rows of lists carry
// them beside what verify compares.
type Figures interface {
	// KeepFigures keeps what was computed of a lot, in the place of what was
	// kept before, in one transaction.
	KeepFigures(ctx context.Context, f FigureRow) error
	// Figures returns what is kept of a lot, or nil.
	Figures(ctx context.Context, lot string) (*FigureRow, error)
	// FigureKeys returns the key of what is kept, by lot, and whether it is
	// sharp.
	FigureKeys(ctx context.Context) (map[string]FigureKey, error)
}

// FigureKey says what figures rest on.
type FigureKey struct {
	Key   string
	Sharp bool
}

// FigureRow is what is kept of a lot's figures.
type FigureRow struct {
	Lot string
	// RowKey repeats [holdfast.LotRow.Evidence] as it was; Key stands for
	// everything the figures rest on, and how they were computed.
	RowKey, Key string
	AsOf        holdfast.Day
	// Sharp says that more runs would change nothing that matters.
	Sharp bool
	// Figures are what lists show, one for each condition that was looked for.
	Figures []holdfast.Figure
	// Body is the whole answer, a JSON value.
	Body json.RawMessage
}
