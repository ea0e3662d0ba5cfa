//go:build !unix

package sqlite_test

func opener(string) string { return "permissions are another matter here" }
