package main

func document(from string) (string, error) { return "", nil }
