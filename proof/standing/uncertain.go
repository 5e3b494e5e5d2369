package standing

// Uncertain is a value with its standard uncertainty.
type Uncertain struct {
	Value float64
	U     float64
}
