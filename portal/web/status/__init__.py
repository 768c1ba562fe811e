"""The customer's page behind the QR link."""
