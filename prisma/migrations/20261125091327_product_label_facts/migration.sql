-- Columns are added in place, so that this migration keeps whatever columns another one added before it.
ALTER TABLE "Product" ADD COLUMN "mixingKind" TEXT;
ALTER TABLE "Product" ADD COLUMN "registrationNumber" TEXT NOT NULL DEFAULT '';
ALTER TABLE "Product" ADD COLUMN "seasonMostApplications" INTEGER;
ALTER TABLE "Spray" ADD COLUMN "waterHardnessMgPerLCaCO3" REAL;
ALTER TABLE "Spray" ADD COLUMN "applicatorLicence" TEXT NOT NULL DEFAULT '';
