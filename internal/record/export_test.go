package record

// SRGB gives the profile of colours that stands in every PDF.
func SRGB() []byte { return srgb() }
