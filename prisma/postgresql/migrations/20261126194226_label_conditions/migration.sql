-- AlterTable
ALTER TABLE "Product" ADD COLUMN     "labelHighestTempC" DOUBLE PRECISION,
ADD COLUMN     "labelHighestTempEnteredUnit" TEXT,
ADD COLUMN     "labelHighestTempEnteredValue" DOUBLE PRECISION,
ADD COLUMN     "labelLowestTempC" DOUBLE PRECISION,
ADD COLUMN     "labelLowestTempEnteredUnit" TEXT,
ADD COLUMN     "labelLowestTempEnteredValue" DOUBLE PRECISION,
ADD COLUMN     "labelMowingWaitDays" DOUBLE PRECISION,
ADD COLUMN     "labelRainfastHours" DOUBLE PRECISION,
ADD COLUMN     "labelReEntryHours" DOUBLE PRECISION,
ADD COLUMN     "labelWatering" TEXT;
