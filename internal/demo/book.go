package demo

import (
	"fmt"
	"math/rand/v2"

	"holdfast"
	"holdfast/desk"
	"holdfast/reference"
	"holdfast/science/signs"
)

// bookDay is what the shop writes into its own book on one day of the year.
type bookDay func(s *shop, d *desk.Desk, by desk.Actor) error

// bookDays are the days on which the shop learns something: names that the staff
// use, an entry of its own, cases that somebody confirmed, and what sellers
// answered before the three deliveries that stand on hold today were bought.
var bookDays = map[int]bookDay{
	20:  named(reference.RostrumWorm, "horn worm", "whiskers"),
	21:  named(reference.SegmentedWorm, "belly leech"),
	45:  ownSpongeCrumb,
	70:  confirmed(reference.RostrumWorm, holdfast.ProofMicroscope, "Looked at by Jo, 40 times enlarged", wormSeen("tentacled", "loops")),
	96:  confirmed("debris", holdfast.ProofMicroscope, "Looked at by Sam", signs.Answers{"site": {"rostrum"}, "form": {"shapeless"}, "motion": {"leaves"}, "depth": {"loose"}}),
	131: confirmed(reference.SegmentedWorm, holdfast.ProofMicroscope, "Looked at by Jo, rings counted", signs.Answers{"site": {"belly"}, "form": {"ringed"}, "size": {"1_to_3_mm"}, "motion": {"loops"}, "depth": {"on_shell"}}),
	168: confirmed(reference.RostrumWorm, holdfast.ProofLaboratory, "Report of an aquatic laboratory on five animals in alcohol", wormSeen("finger", "loops")),
	203: confirmed(reference.Ciliates, holdfast.ProofResponse, "Gone after a week of clean water", signs.Answers{"site": {"antennae", "legs"}, "form": {"fuzz"}, "colour": {"clear"}, "moult": {"gone"}, "news": {"dirt"}}),
	150: visited(holdfast.Visit{Visitor: "Invented veterinary practice at the Weir", Role: holdfast.VisitVeterinarian, Reason: "The yearly visit",
		Result: "Quarantine room clean, nets apart by colour. No sign of a disease that must be reported.", Instructions: "Write down where treated water goes."}),
	171: visited(holdfast.Visit{Visitor: "Invented aquatic laboratory", Role: holdfast.VisitLaboratory, Reason: "Animals with worms, sent in alcohol",
		Result: "Samples taken over from Jo.", Samples: "Five animals in alcohol, tube 26-171", Laboratory: "Report 26-0171: rostrum worms on three of five."}),
	300: visited(holdfast.Visit{Visitor: "Invented veterinary office", Role: holdfast.VisitAuthority, Reason: "Control of the register", Result: "Register complete but for two certificates of March, which were shown later."}),
	247: confirmed(reference.RostrumWorm, holdfast.ProofMicroscope, "Looked at by Sam, 40 times enlarged", wormSeen("tentacled", "still")),
	289: confirmed(reference.RostrumWorm, holdfast.ProofResponse, "None seen after the second bath", wormSeen("finger", "loops")),

	days - 40: asked(suppliers[6], holdfast.BackedShown, map[string]string{"origin": "own", "bred_or_traded": "raised", "shared_water": "alone", "treatments": "none", "seen": "nothing"},
		map[string]string{"photographs": "Twelve pictures of this batch, from both sides."}),
	days - 25: asked(suppliers[0], holdfast.BackedSaid, map[string]string{"origin": "pond", "bred_or_traded": "raised", "shared_water": "shared", "treatments": "dip", "seen": "nothing"},
		map[string]string{"treatments": "Salt, as always, before packing. Date not given."}),
	days - 6: asked(suppliers[3], holdfast.BackedSaid, map[string]string{"origin": "indoor", "bred_or_traded": "bought_lately", "shared_water": "shared", "treatments": "none"},
		map[string]string{"deaths": "The usual few."}),
}

// wormSeen are the signs of a rostrum worm as people wrote them down.
func wormSeen(form, motion string) signs.Answers {
	return signs.Answers{"site": {"rostrum"}, "form": {form}, "arrangement": {"few"}, "size": {"1_to_3_mm"}, "colour": {"white"}, "motion": {motion}, "depth": {"on_shell"}}
}

// book does what the day is noted for. Its ids have chance of their own: the year
// goes the same way with and without it.
func (s *shop) book(i int) error {
	do, ok := bookDays[i]
	if !ok {
		return nil
	}
	own := chance{rand.New(rand.NewPCG(seed, uint64(1000+i)))}
	d := &desk.Desk{Store: s.over, Evidence: s.desk.Evidence, Site: s.desk.Site, Random: own, Now: s.desk.Now}
	if err := do(s, d, desk.Actor{Who: staff[i%len(staff)], At: s.clock}); err != nil {
		return fmt.Errorf("the shop's own book: %w", err)
	}
	return nil
}

func named(id string, names ...string) bookDay {
	return func(s *shop, d *desk.Desk, by desk.Actor) error {
		_, err := d.NameEntry(s.ctx, by, id, names)
		return err
	}
}

// ownSpongeCrumb writes a look-alike that only this shop's filters make.
func ownSpongeCrumb(s *shop, d *desk.Desk, by desk.Actor) error {
	_, _, err := d.WriteEntry(s.ctx, by, desk.OwnEntry{
		Entry: reference.Condition{Name: "Sponge crumb on the nose", Kind: reference.Artefact, Sites: []string{"rostrum"},
			Look: []reference.Claim{{Say: "A pale crumb of the filter sponge, hooked on the rostrum. It does not bend, and it is gone after the animal has cleaned itself.", From: reference.Judgement}},
			Do:   []reference.Claim{{Say: "Look again after an hour. Rinse new sponges before they go in.", From: reference.CommonPractice}},
			Alike: []reference.Alike{{ID: reference.RostrumWorm,
				Claim: reference.Claim{Say: "A worm bends and holds on; a crumb is carried about and lost.", From: reference.CommonPractice}}}},
		Names: []string{"foam nose"},
		Looks: signs.Answers{"site": {"rostrum"}, "form": {"shapeless"}, "colour": {"white"}, "motion": {"still", "leaves"}, "depth": {"loose"}}, Start: "uncommon"})
	return err
}

// confirmed keeps a case, with the lot in which it was found while one with that
// condition is in the house.
func confirmed(truth, proof, by string, seen signs.Answers) bookDay {
	return func(s *shop, d *desk.Desk, who desk.Actor) error {
		_, err := d.Confirm(s.ctx, who, s.carrier(truth), holdfast.CaseConfirmed{Truth: truth, Proof: proof, By: by, Signs: seen})
		return err
	}
}

// carrier is the oldest open lot in which somebody found the condition.
func (s *shop) carrier(condition string) string {
	for _, id := range s.open {
		if l, err := s.desk.Lot(s.ctx, id); err == nil && l.LastSign[condition] > 0 && l.Status != holdfast.Closed {
			return id
		}
	}
	return ""
}

func visited(p holdfast.Visit) bookDay {
	return func(s *shop, d *desk.Desk, by desk.Actor) error {
		_, err := d.Visit(s.ctx, by, p)
		return err
	}
}

func asked(from supplier, backed string, answers, said map[string]string) bookDay {
	return func(s *shop, d *desk.Desk, by desk.Actor) error {
		_, err := d.Declare(s.ctx, by, holdfast.Declared{Supplier: from.name, Answers: answers, Words: said, Backed: backed})
		return err
	}
}
