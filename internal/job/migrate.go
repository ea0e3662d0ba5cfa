package job

// toVersion2 makes the plain values of a job file of version 1 those of version
// 2, which has all that version 1 has, in the same places.
func toVersion2(map[string]any) {}
