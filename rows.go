package holdfast

// LotRow is what lists show of a lot. It is written in the same transaction as
// the entry that changed it, and can be computed again from the entries alone.
type LotRow struct {
	ID          string `json:"id"`
	Strain      string `json:"strain"`
	Species     string `json:"species"`
	Consignment string `json:"consignment"`
	Supplier    string `json:"supplier"`
	Parent      string `json:"parent,omitempty"`
	Status      Status `json:"status"`
	Declared    int    `json:"declared"`
	Alive       int    `json:"alive"`
	AliveLow    int    `json:"alive_low"`
	AliveHigh   int    `json:"alive_high"`
	DOA         int    `json:"doa"`
	Deaths      int    `json:"deaths"`
	Sold        int    `json:"sold"`
	// Places are the tanks that hold the animals now.
	Places   []Place `json:"places"`
	OpenedAt Micros  `json:"opened_at"`
	// Figures has one figure for each condition that was looked for.
	Figures []Figure `json:"figures"`
	// Worst is the condition with the least chance of clear, and Chance to
	// BagRisk its figure; nil when nothing was looked for.
	Worst    string   `json:"worst"`
	Chance   *float64 `json:"chance"`
	BagRisk  *float64 `json:"bag_risk"`
	LastSign Micros   `json:"last_sign"`
	LastDose Micros   `json:"last_dose"`
	LastLook Micros   `json:"last_look"`
	// SignOf names the conditions of which signs were ever found.
	SignOf         []string `json:"sign_of"`
	Suspects       []string `json:"suspects"`
	Price          *Money   `json:"price"`
	Contradictions int      `json:"contradictions"`
	// Evidence names what the figures of the life-cycle model rest on as far as a
	// row can know it; empty where another model answers, whose figures are then
	// part of the row.
	Evidence string `json:"evidence,omitempty"`
	// FigureAsOf is the day for which the life-cycle model's figures hold, and
	// FigureOld says that something was recorded since that they do not know. Both
	// come with the figures from where these are kept, beside the row; 0 when none
	// have been computed yet.
	FigureAsOf Day  `json:"-"`
	FigureOld  bool `json:"-"`
	// HeadSeq, Fold and Model say what the row was computed from.
	HeadSeq int64  `json:"head_seq"`
	Fold    int    `json:"fold"`
	Model   string `json:"model"`
}

// SetFigures puts in the figures, and the worst of them.
func (r *LotRow) SetFigures(all []Figure) {
	r.Figures, r.Worst, r.Chance, r.BagRisk = all, "", nil, nil
	for i := range all {
		if f := &all[i]; r.Chance == nil || f.Chance < *r.Chance {
			r.Worst, r.Chance, r.BagRisk = f.Condition, &f.Chance, &f.BagRisk
		}
	}
}

// TankRow is what lists show of a tank.
type TankRow struct {
	ID string `json:"id"`
	TankSet
	Since Micros `json:"since"`
	// Alarms are the kinds of failure that are not over.
	Alarms []string `json:"alarms"`
	// Last is the newest set of readings and LastAt when it was taken.
	Last    *Water `json:"last"`
	LastAt  Micros `json:"last_at"`
	HeadSeq int64  `json:"head_seq"`
	Fold    int    `json:"fold"`
}

// RowOfTank returns the row of a tank's state.
func RowOfTank(t *Tank) TankRow {
	r := TankRow{ID: t.ID, TankSet: t.TankSet, Since: t.Since, HeadSeq: t.HeadSeq, Fold: FoldVersion, Alarms: []string{}}
	for _, a := range t.Alarms {
		r.Alarms = append(r.Alarms, a.Payload.(*Alarm).What)
	}
	if n := len(t.Measured); n > 0 {
		last := t.Measured[n-1]
		r.Last, r.LastAt = &last.Payload.(*WaterMeasured).Water, last.OccurredAt
	}
	return r
}

// ConsignmentRow is what lists show of a delivery.
type ConsignmentRow struct {
	ID       string   `json:"id"`
	Supplier string   `json:"supplier"`
	At       Micros   `json:"at"`
	Origin   string   `json:"origin"`
	Boxes    int      `json:"boxes"`
	Lots     []string `json:"lots"`
	HeadSeq  int64    `json:"head_seq"`
	Fold     int      `json:"fold"`
}

// RowOfConsignment returns the row of a delivery's state.
func RowOfConsignment(c *Consignment) ConsignmentRow {
	return ConsignmentRow{ID: c.ID, Supplier: c.Supplier, At: c.At, Origin: c.Origin, Boxes: c.Boxes,
		Lots: append([]string{}, c.Lots...), HeadSeq: c.HeadSeq, Fold: FoldVersion}
}

// Summariser computes the row of a lot. It lives outside the store because the
// figures in the row are the desk's to compute, and is called inside the
// store's transaction.
type Summariser interface {
	// Model names the version of whatever computes the figures.
	Model() string
	// LotRow computes the row of l, which came with c, under the shop's settings.
	// Other lots that l descends from or received animals of are loaded through
	// lot, which never returns nil. The row follows from these alone: the store
	// calls again whenever one of them has changed, and verify compares bytes.
	LotRow(l *Lot, c *Consignment, shop ShopSet, lot func(id string) (*Lot, error)) (LotRow, error)
}
