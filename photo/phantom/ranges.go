package phantom

// span is a range to draw from.
type span struct{ lo, hi float64 }

// Ranges are what a split draws from. Lengths are millimetres of subject.
type Ranges struct {
	strains []strain
	// eggs
	eggDiameter, eggGap, eggOpacity span
	eggJitter                       span // of the gap
	eggRows                         int  // most rows
	// camera
	pxPerMM     span
	blurPerMM   span // blur (standard deviation) for each mm off the plane of focus
	focusMiss   float64
	noise       span
	jpegQuality [2]int
}

// strain is how a shell looks: linear colours of the shell and of its pigment,
// how clear the shell is and whether it has white bands.
type strain struct {
	name           string
	shell, pigment [3]float64
	clear          float64 // 0 opaque to 1 like glass
	bands          bool
	dots           float64 // share of pigment cells that are filled
}

var tuningStrains = []strain{
	{"red", [3]float64{0.50, 0.05, 0.03}, [3]float64{0.30, 0.01, 0.01}, 0.25, false, 0.45},
	{"pale red", [3]float64{0.52, 0.18, 0.13}, [3]float64{0.45, 0.03, 0.02}, 0.5, false, 0.5},
	{"orange", [3]float64{0.65, 0.25, 0.05}, [3]float64{0.50, 0.12, 0.01}, 0.35, false, 0.3},
	{"blue", [3]float64{0.05, 0.12, 0.32}, [3]float64{0.02, 0.03, 0.12}, 0.3, false, 0.45},
	{"chocolate", [3]float64{0.12, 0.06, 0.04}, [3]float64{0.04, 0.02, 0.01}, 0.15, false, 0.4},
	{"clear", [3]float64{0.32, 0.30, 0.24}, [3]float64{0.12, 0.07, 0.04}, 0.8, false, 0.25},
	{"red banded", [3]float64{0.48, 0.05, 0.04}, [3]float64{0.3, 0.01, 0.01}, 0.2, true, 0.25},
}

var heldStrains = []strain{
	{"yellow", [3]float64{0.65, 0.48, 0.08}, [3]float64{0.5, 0.3, 0.03}, 0.3, false, 0.35},
	{"green", [3]float64{0.10, 0.22, 0.08}, [3]float64{0.03, 0.08, 0.02}, 0.35, false, 0.4},
	{"black banded", [3]float64{0.05, 0.05, 0.06}, [3]float64{0.01, 0.01, 0.01}, 0.1, true, 0.2},
	{"white", [3]float64{0.70, 0.70, 0.68}, [3]float64{0.4, 0.4, 0.38}, 0.2, false, 0.2},
}

var tuningRanges = Ranges{
	strains:     tuningStrains,
	eggDiameter: span{0.09, 0.18}, eggGap: span{1.05, 2.1}, eggOpacity: span{0.05, 0.9},
	eggJitter: span{0.02, 0.10}, eggRows: 6,
	pxPerMM: span{44, 90}, blurPerMM: span{0.008, 0.05}, focusMiss: 0.55,
	noise: span{0.002, 0.03}, jpegQuality: [2]int{70, 95},
}

// heldRanges adds strains, sizes, noise and compression beyond those tuned on.
var heldRanges = Ranges{
	strains:     append(append([]strain{}, tuningStrains...), heldStrains...),
	eggDiameter: span{0.085, 0.19}, eggGap: span{1.05, 2.2}, eggOpacity: span{0.05, 0.9},
	eggJitter: span{0.02, 0.12}, eggRows: 7,
	pxPerMM: span{40, 110}, blurPerMM: span{0.006, 0.06}, focusMiss: 0.6,
	noise: span{0.0015, 0.04}, jpegQuality: [2]int{60, 97},
}
