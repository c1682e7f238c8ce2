"""What lies in the racks: bins, batches and the ledger of everything that moves."""
