"""What a person reads: pages of plain blocks, made from a consultation or from the knowledge."""
