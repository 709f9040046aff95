-- AlterTable
ALTER TABLE "Product" ADD COLUMN "labelHighestTempC" REAL;
ALTER TABLE "Product" ADD COLUMN "labelHighestTempEnteredUnit" TEXT;
ALTER TABLE "Product" ADD COLUMN "labelHighestTempEnteredValue" REAL;
ALTER TABLE "Product" ADD COLUMN "labelLowestTempC" REAL;
ALTER TABLE "Product" ADD COLUMN "labelLowestTempEnteredUnit" TEXT;
ALTER TABLE "Product" ADD COLUMN "labelLowestTempEnteredValue" REAL;
ALTER TABLE "Product" ADD COLUMN "labelMowingWaitDays" REAL;
ALTER TABLE "Product" ADD COLUMN "labelRainfastHours" REAL;
ALTER TABLE "Product" ADD COLUMN "labelReEntryHours" REAL;
ALTER TABLE "Product" ADD COLUMN "labelWatering" TEXT;
