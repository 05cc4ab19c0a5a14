package holdfast

import (
	"maps"
	"slices"
)

// Kind names what an entry says.
type Kind string

// The kinds of entry. Their payloads are the types of the same names.
const (
	KindShopSet             Kind = "shop_set"
	KindTankSet             Kind = "tank_set"
	KindConsignmentReceived Kind = "consignment_received"
	KindLotOpened           Kind = "lot_opened"
	KindLotPlaced           Kind = "lot_placed"
	KindLotMoved            Kind = "lot_moved"
	KindLotSplit            Kind = "lot_split"
	KindLotMerged           Kind = "lot_merged"
	KindCounted             Kind = "counted"
	KindBirths              Kind = "births"
	KindDeath               Kind = "death"
	KindDOA                 Kind = "doa"
	KindGone                Kind = "gone"
	KindRemoval             Kind = "removal"
	KindInspection          Kind = "inspection"
	KindPhotoAdded          Kind = "photo_added"
	KindTreatment           Kind = "treatment"
	KindTreatmentLook       Kind = "treatment_look"
	KindTreatmentEnded      Kind = "treatment_ended"
	KindRedose              Kind = "redose"
	KindMoultPull           Kind = "moult_pull"
	KindWaterChange         Kind = "water_change"
	KindTopUp               Kind = "top_up"
	KindWaterMeasured       Kind = "water_measured"
	KindAlarm               Kind = "alarm"
	KindTaskTicked          Kind = "task_ticked"
	KindTaskSkipped         Kind = "task_skipped"
	KindHold                Kind = "hold"
	KindRelease             Kind = "release"
	KindOverride            Kind = "override"
	KindExit                Kind = "exit"
	KindSale                Kind = "sale"
	KindNote                Kind = "note"
	KindCourseAccepted      Kind = "course_accepted"
	KindCourseStopped       Kind = "course_stopped"
	KindBeliefsSet          Kind = "beliefs_set"
	KindCostsSet            Kind = "costs_set"
	KindReferenceSet        Kind = "reference_set"
	KindCaseConfirmed       Kind = "case_confirmed"
	KindDeclared            Kind = "declared"
	KindVisit               Kind = "visit"
	KindPapersAdded         Kind = "papers_added"
	KindCorrection          Kind = "correction"
)

// Payload is what an entry of one kind says. The set is closed: every payload
// is declared in this package, so that a fold can name them all.
type Payload interface {
	// Kind is the kind of entry that carries this payload.
	Kind() Kind
	// check adds what is wrong with the payload's own fields.
	check(*checker)
}

// subject says what an entry of a kind must name.
type subject int

const (
	ofShop  subject = iota // neither lot nor tank
	ofTank                 // a tank
	ofLot                  // a lot
	ofBoth                 // a lot and a tank
	ofAny                  // a lot, a tank, both or neither
	ofOneUp                // a lot or a tank or both
)

type kindInfo struct {
	version int
	subject subject
	make    func() Payload
}

// kinds lists, for each kind, the version of its payload that this program
// writes and reads, what it is about, and its type.
var kinds = map[Kind]kindInfo{
	KindShopSet:             {1, ofShop, func() Payload { return new(ShopSet) }},
	KindTankSet:             {1, ofTank, func() Payload { return new(TankSet) }},
	KindConsignmentReceived: {1, ofShop, func() Payload { return new(ConsignmentReceived) }},
	KindLotOpened:           {1, ofLot, func() Payload { return new(LotOpened) }},
	KindLotPlaced:           {1, ofBoth, func() Payload { return new(LotPlaced) }},
	KindLotMoved:            {1, ofBoth, func() Payload { return new(LotMoved) }},
	KindLotSplit:            {1, ofLot, func() Payload { return new(LotSplit) }},
	KindLotMerged:           {1, ofLot, func() Payload { return new(LotMerged) }},
	KindCounted:             {1, ofLot, func() Payload { return new(Counted) }},
	KindBirths:              {1, ofLot, func() Payload { return new(Births) }},
	KindDeath:               {1, ofLot, func() Payload { return new(Death) }},
	KindDOA:                 {1, ofLot, func() Payload { return new(DOA) }},
	KindGone:                {1, ofLot, func() Payload { return new(Gone) }},
	KindRemoval:             {1, ofLot, func() Payload { return new(Removal) }},
	KindInspection:          {1, ofLot, func() Payload { return new(Inspection) }},
	KindPhotoAdded:          {1, ofLot, func() Payload { return new(PhotoAdded) }},
	KindTreatment:           {1, ofLot, func() Payload { return new(Treatment) }},
	KindTreatmentLook:       {1, ofLot, func() Payload { return new(TreatmentLook) }},
	KindTreatmentEnded:      {1, ofLot, func() Payload { return new(TreatmentEnded) }},
	KindRedose:              {1, ofLot, func() Payload { return new(Redose) }},
	KindMoultPull:           {1, ofLot, func() Payload { return new(MoultPull) }},
	KindWaterChange:         {1, ofTank, func() Payload { return new(WaterChange) }},
	KindTopUp:               {1, ofTank, func() Payload { return new(TopUp) }},
	KindWaterMeasured:       {1, ofTank, func() Payload { return new(WaterMeasured) }},
	KindAlarm:               {1, ofTank, func() Payload { return new(Alarm) }},
	KindTaskTicked:          {1, ofOneUp, func() Payload { return new(TaskTicked) }},
	KindTaskSkipped:         {1, ofOneUp, func() Payload { return new(TaskSkipped) }},
	KindHold:                {1, ofLot, func() Payload { return new(Hold) }},
	KindRelease:             {1, ofLot, func() Payload { return new(Release) }},
	KindOverride:            {1, ofLot, func() Payload { return new(Override) }},
	KindExit:                {1, ofLot, func() Payload { return new(Exit) }},
	KindSale:                {1, ofLot, func() Payload { return new(Sale) }},
	KindNote:                {1, ofAny, func() Payload { return new(Note) }},
	KindCourseAccepted:      {1, ofLot, func() Payload { return new(CourseAccepted) }},
	KindCourseStopped:       {1, ofLot, func() Payload { return new(CourseStopped) }},
	KindBeliefsSet:          {1, ofShop, func() Payload { return new(BeliefsSet) }},
	KindCostsSet:            {1, ofShop, func() Payload { return new(CostsSet) }},
	KindReferenceSet:        {1, ofShop, func() Payload { return new(ReferenceSet) }},
	KindCaseConfirmed:       {1, ofAny, func() Payload { return new(CaseConfirmed) }},
	KindDeclared:            {1, ofShop, func() Payload { return new(Declared) }},
	KindSightSet:            {1, ofShop, func() Payload { return new(SightSet) }},
	KindVisit:               {1, ofShop, func() Payload { return new(Visit) }},
	KindPapersAdded:         {1, ofAny, func() Payload { return new(PapersAdded) }},
	KindCorrection:          {1, ofAny, func() Payload { return new(Correction) }},
}

// Kinds returns every kind of entry in alphabetical order.
func Kinds() []Kind { return slices.Sorted(maps.Keys(kinds)) }

// checkSubject adds what is wrong with the lot and tank that the entry names.
func (ev Event) checkSubject(c *checker) {
	want := kinds[ev.Kind].subject
	if ev.Lot == "" && (want == ofLot || want == ofBoth) {
		c.add("lot", "Say which lot.", "an entry of kind %s names a lot", ev.Kind)
	}
	if ev.Tank == "" && (want == ofTank || want == ofBoth) {
		c.add("tank", "Say which tank.", "an entry of kind %s names a tank", ev.Kind)
	}
	if want == ofOneUp && ev.Lot == "" && ev.Tank == "" {
		c.add("lot", "Say which lot or tank.", "an entry of kind %s names a lot or a tank", ev.Kind)
	}
	if want == ofShop && (ev.Lot != "" || ev.Tank != "") {
		c.add("lot", "Leave lot and tank empty.", "an entry of kind %s is about the shop", ev.Kind)
	}
}

// SubjectType is what a fold is made for.
type SubjectType string

// The types of subject.
const (
	SubjectLot         SubjectType = "lot"
	SubjectTank        SubjectType = "tank"
	SubjectConsignment SubjectType = "consignment"
	SubjectShop        SubjectType = "shop"
	// SubjectBook is what the shop has added to the reference, its confirmed
	// cases and the sellers' declarations; see [Book].
	SubjectBook SubjectType = "book"
)

// Subject names one thing whose state is folded from its own entries.
type Subject struct {
	Type SubjectType
	// ID is the lot, tank or consignment; the site for the shop and its book.
	ID string
}

// Subjects returns the subjects whose state this event bears on, each once:
// both lots of a split, every lot that a suspicion holds, the consignment of a
// new lot, and for a correction
// whatever the corrected entry bore on.
func (ev Event) Subjects() []Subject {
	var all []Subject
	add := func(t SubjectType, id string) {
		s := Subject{t, id}
		if id != "" && !slices.Contains(all, s) {
			all = append(all, s)
		}
	}
	add(SubjectLot, ev.Lot)
	// What happens to a lot is the lot's, even when it names the tank it stood
	// in: a tank's own state would otherwise fold every death of years.
	if k := kinds[ev.Kind].subject; ev.Lot == "" || (k != ofLot && k != ofOneUp) {
		add(SubjectTank, ev.Tank)
	}
	switch p := ev.Payload.(type) {
	case *ShopSet, *BeliefsSet, *CostsSet, *SightSet:
		add(SubjectShop, ev.Site)
	case *ReferenceSet, *CaseConfirmed:
		add(SubjectBook, ev.Site)
	case *Visit:
		add(SubjectBook, ev.Site)
		for _, lot := range p.Lots {
			add(SubjectLot, lot)
		}
	case *Declared:
		add(SubjectBook, ev.Site)
		add(SubjectConsignment, p.Consignment)
	case *ConsignmentReceived:
		add(SubjectConsignment, p.Consignment)
	case *LotOpened:
		add(SubjectConsignment, p.Consignment)
	case *PapersAdded:
		add(SubjectConsignment, p.Consignment)
	case *Hold:
		for _, lot := range p.Also {
			add(SubjectLot, lot)
		}
	case *LotMoved:
		add(SubjectTank, p.From)
	case *LotSplit:
		add(SubjectLot, p.NewLot)
	case *LotMerged:
		add(SubjectLot, p.Into)
	case *Correction:
		for _, s := range p.About {
			add(s.Type, s.ID)
		}
	}
	return all
}
