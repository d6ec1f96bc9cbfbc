"""Offers, the bench's clock, numbered bills, payments, and what is still open of them."""
