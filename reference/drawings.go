package reference

import "holdfast/reference/drawing"

// AnimalDrawing is the name of the drawing that numbers the sites.
const AnimalDrawing = "animal"

// Drawing returns the drawing of the given name; Condition.Drawing holds such
// names.
func Drawing(name string) (drawing.Drawing, bool) { return drawing.Draw(name) }
