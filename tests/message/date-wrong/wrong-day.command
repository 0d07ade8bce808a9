verify day.trn --on 2026-11-01
