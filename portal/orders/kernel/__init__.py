"""What every wing needs: transactions, errors, idempotency, moves, the job's lock, letters."""
