.PHONY: test check run accuracy tables
test:
	go test ./...
check:
	bash .ci/run fast
run:
	go run ./cmd/coldwright serve --demo
accuracy:
	go run ./cmd/accuracy
tables:
	go run ./cmd/tables
